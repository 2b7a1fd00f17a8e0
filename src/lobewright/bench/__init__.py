"""On the bench: cheap measurements that narrow what a design rests on, as sheets to print."""
