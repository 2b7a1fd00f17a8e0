"""Write the validation page of the documentation: ``python -m lobewright.published.page [folder]``."""

from __future__ import annotations

import sys
from pathlib import Path

from lobewright.published.case import CaseResult, Room
from lobewright.published.run import run_cases
from lobewright.published.text import number, sources_used, summary_lines
from lobewright.sources import Flag

HEADER = """# Evidence

Numbers from outside the model that the model has to meet. `lobewright evidence` prints them, the tests assert the same
cases, and this page is made from them by `python -m lobewright.published.page`. Do not edit it by hand.

A row passes when |computed − expected| is smaller than what is allowed. Rows that were derived here, and facts that are
common practice in the trade, are counted apart from rows read in a source.
"""


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


def _table(results: list[CaseResult]) -> list[str]:
    lines = [
        "| quantity | expected | computed | allowed ± | why so much | source | flag | outcome |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for result in results:
        case = result.case
        unit = f" {case.unit}" if case.unit else ""
        cells = (
            case.quantity,
            number(case.expected) + unit,
            f"{result.computed:.6g}".replace("-", "−") + unit,
            f"{case.allowed:.2g}".replace("-", "−"),
            case.reason,
            f"`{case.source_key}`",
            case.flag.label,
            result.state.value,
        )
        lines.append("| " + " | ".join(_cell(cell) for cell in cells) + " |")
    return lines


def page(results: tuple[CaseResult, ...]) -> str:
    """The page as Markdown."""
    lines = [HEADER, *(f"- {line}" for line in summary_lines(results))]
    for room in Room:
        rows = [result for result in results if result.case.room is room]
        if rows:
            lines += ["", f"## {room.value.capitalize()}", "", *_table(rows)]
    lines += ["", "## Sources", "", "| key | source |", "|---|---|"]
    lines += [f"| `{one.key}` | {_cell(one.line)} |" for one in sources_used(results)]
    lines += ["", "## Flags", "", *(f"- **{flag.label}**: {flag.words}" for flag in Flag)]
    return "\n".join(lines) + "\n"


def main(arguments: list[str]) -> None:
    """Write ``evidence.md`` into the given folder (``docs/validation`` when none is given)."""
    folder = Path(arguments[0]) if arguments else Path("docs/validation")
    folder.mkdir(parents=True, exist_ok=True)
    target = folder / "evidence.md"
    target.write_text(page(run_cases()), encoding="utf-8")
    print(f"wrote {target}")


if __name__ == "__main__":
    main(sys.argv[1:])
