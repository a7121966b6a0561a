"""Designations, seal sizes, suffix meaning, interchange: what a part is called and what that says. Pure."""

from screener.parts.as_json import explained_as_json
from screener.parts.comparing import compare, comparison_as_json
from screener.parts.explaining import explain, explain_column
from screener.parts.finding import find_in_text
from screener.parts.model import Comparison, Difference, Explained, Found, RankedReading
from screener.parts.ranking import rank_readings

__all__ = [
    "Comparison",
    "Difference",
    "Explained",
    "Found",
    "RankedReading",
    "compare",
    "comparison_as_json",
    "explain",
    "explain_column",
    "explained_as_json",
    "find_in_text",
    "rank_readings",
]
