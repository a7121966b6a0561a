"""The JSON bodies that the interface takes. The contract is made from these."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

Line = Field(min_length=1, max_length=60, description="Line of the order; with several boxes, LINE/BOX.")
Who = Field(min_length=1, max_length=500, description="Name of the person.")
Why = Field(min_length=1, max_length=500, description="The reason, for whoever reads it later.")
Duty = Literal["dry", "dirty", "wet", "hot", "fast"]


class Body(BaseModel):
    """Takes what it names and nothing else."""

    model_config = ConfigDict(extra="forbid")


class Finished(Body):
    """A delivery is worked through."""

    who: str = Field(default="", max_length=500)


class Withdrawal(Body):
    """A photo does not belong to the line."""

    line: str = Line
    sha256: str = Field(pattern="^[0-9a-f]{64}$")
    who: str = Who
    why: str = Why


class Scan(Body):
    """What a handheld scanner typed."""

    line: str = Line
    text: str = Field(min_length=1, max_length=4000)


class Reading(Body):
    """A number read off an instrument, or with the instrument ``eye`` what a person saw."""

    line: str = Line
    what: str = Field(max_length=60, examples=["od_mm"])
    value: float | str
    instrument: str = Field(default="caliper", max_length=60)
    who: str = Field(default="", max_length=500)
    temperature_c: float | None = Field(default=None, ge=-50, le=200, description="Of the part.")
    face: Literal["first", "second", "unknown"] = "unknown"
    once: str = Field(default="", max_length=60, description="Sent twice under one such word, it counts once.")


class Corrected(Body):
    """Something was misread."""

    line: str = Line
    key: str = Field(max_length=20, description="Of the observation in the newest answer.")
    value: float | str | None = Field(description="What it really says; null: there is nothing of the kind.")
    who: str = Who
    why: str = Field(default="misread", max_length=500)
    item_id: int | None = Field(default=None, ge=0, le=2**31 - 1, description="The answer whose key is meant.")


class Part(Body):
    """A single part to be checked."""

    need: str = Field(min_length=1, max_length=500)
    duty: frozenset[Duty] = frozenset()
    maker: str | None = Field(default=None, max_length=200)


class Decision(Body):
    """A person keeps an item back or lets it go."""

    who: str = Who
    why: str = Why


class Text(Body):
    """A scanned text."""

    text: str = Field(min_length=1, max_length=4000)
