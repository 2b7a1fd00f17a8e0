"""What start.py does: look at the machine, keep `.venv` whole, run the demonstration or the tests.

Standard library only; nothing here is part of the installed package.
"""
