"""Evidence shipped with the package: published numbers, closed forms and the trade's facts, met by the model's own calls."""

from lobewright.published.run import ALL_CASES, run_cases
from lobewright.published.text import as_json, as_text

__all__ = ["ALL_CASES", "as_json", "as_text", "run_cases"]
