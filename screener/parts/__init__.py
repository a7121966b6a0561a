"""Designations, seal sizes, suffix meaning, interchange: what a part is called and what that says. Pure."""

from screener.parts.as_json import explained_as_json
from screener.parts.companions import Companions, companions
from screener.parts.comparing import compare, comparison_as_json
from screener.parts.explaining import explain, explain_column
from screener.parts.finding import find_in_text
from screener.parts.model import Comparison, Difference, Explained, Found, RankedReading
from screener.parts.pointing import point_at
from screener.parts.ranking import rank_readings

__all__ = [
    "Companions",
    "Comparison",
    "Difference",
    "Explained",
    "Found",
    "RankedReading",
    "companions",
    "compare",
    "comparison_as_json",
    "explain",
    "explain_column",
    "explained_as_json",
    "find_in_text",
    "point_at",
    "rank_readings",
]
