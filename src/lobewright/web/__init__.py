"""The live page: a local web application over the same calls as the command. See docs/architecture.md."""
