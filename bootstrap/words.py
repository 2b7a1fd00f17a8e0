"""What the person sees: plain ASCII lines, and one sentence instead of a traceback."""

import sys

CANNOT_START = 2
INSTALL_FAILED = 3


class Fault(Exception):
    """A foreseeable failure: one sentence with what to do, and the exit code that goes with it."""

    def __init__(self, sentence: str, exit_code: int = CANNOT_START) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.exit_code = exit_code


def say(line: str) -> None:
    print(line, flush=True)


def complain(sentence: str) -> None:
    sys.stdout.flush()
    print(f"\n{sentence}", file=sys.stderr, flush=True)
