"""What is needed, what was observed, what was found and what follows: the nouns of the screening core.

Nothing here knows where an observation came from physically: readers, scanners and people all end as
`Observation`. A `Finding` says in one sentence what disagrees with what and points at its observations.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from screener.parts.model import Explained

Point = tuple[float, float]
Channel = Literal["order", "barcode", "label", "marking", "geometry", "face", "instrument", "person", "photo"]
"""Who says it. Box (``barcode``, ``label``) and steel (``marking``, ``geometry``, ``face``, ``instrument``) are
separate evidence: a perfect box says nothing about the part in it."""

BOX_CHANNELS: frozenset[Channel] = frozenset({"barcode", "label"})
STEEL_CHANNELS: frozenset[Channel] = frozenset({"marking", "geometry", "face", "instrument"})

Attribute = Literal[
    "designation",
    "kind",
    "closure",
    "lip_face",
    "bore_to_od",
    "bore_mm",
    "od_mm",
    "width_mm",
    "mass_g",
    "size",
    "maker",
    "batch",
    "serial",
    "quantity",
    "date",
    "country",
    "gtin",
    "text",
    "problem",
    "reference",
    "sign",
    "looked",
    "mark_spacing",
    "mark_baseline",
    "mark_stroke",
    "mark_contrast",
    "cage",
    "garter_spring",
    "snap_ring_groove",
    "seen_before",
]
Weight = Literal["note", "question", "contradiction"]
Question = Literal["asked_for", "agreement", "suspicion", "fit", "not_checked"]
DispositionWord = Literal["accept", "hold", "reject"]
Exit = Literal["use", "keep and ask", "look again", "send back"]
"""What is done with the part. ``keep and ask`` and ``send back`` are never mixed: a suspect wrong part is kept."""
Level = Literal["none", "weak", "moderate", "strong"]


@dataclass(frozen=True, slots=True)
class Source:
    """Where an observation comes from, precisely enough to show it again."""

    channel: Channel
    where: str
    """Photo name, instrument, scanner or person, as a user would name it."""
    photo_sha256: str = ""
    region_px: tuple[Point, ...] = ()
    """Outline in the upright photo; empty when there is none."""
    reader: str = ""
    also: tuple[str, ...] = ()
    """Further photos that the same observation rests on, where several were read together."""


@dataclass(frozen=True, slots=True)
class Observation:
    """One attribute, one value, one source, and how sure.

    ``p`` is the probability that a class or text is right, ``u`` the standard uncertainty of a number in its own
    unit. A reading by a person or instrument has no ``p``.
    """

    key: str
    """Unique within its item, in the order observed: ``o1``, ``o2`` …"""
    attribute: Attribute
    value: str | float
    source: Source
    p: float | None = None
    u: float | None = None
    alternatives: tuple[tuple[str, float], ...] = ()
    """Other values with their probability, most probable first (sizes that a picture cannot tell apart)."""
    face: Literal["first", "second", "unknown"] = "unknown"
    """Which face of the part, as far as the person who took the photo said so."""
    confirmed: bool = False
    """A second, independent witness read the same (codes)."""
    temperature_c: float | None = None
    """Of the part, where a person gave it with a reading."""


EARLIER = "earlier delivery"
"""`Source.reader` of a `seen_before` observation in a photo of an earlier delivery, which is no photo of this item."""


@dataclass(frozen=True, slots=True)
class Trade:
    """What the order says about how the part was bought: weak evidence, weighed low. None or empty = not told."""

    unit_price: float | None = None
    currency: str = ""
    seller_authorised: bool | None = None
    seller_known_since: int | None = None
    """A year."""
    chain_of_sale: bool | None = None
    papers: bool | None = None
    lead_days: int | None = None
    usual_days: int | None = None


@dataclass(frozen=True, slots=True)
class Requirement:
    """What the job needs: an order line, a job card or the old part's number."""

    line: str
    need: str
    """As written by the person who ordered."""
    explained: Explained
    quantity: int | None = None
    maker: str | None = None
    duty: frozenset[str] = frozenset()
    """Words from ``dry``, ``dirty``, ``wet``, ``hot``, ``fast``."""
    supplier: str | None = None
    note: str | None = None
    trade: Trade | None = None
    """What the order says about seller, price and papers; None where nothing."""
    signs: tuple[str, ...] = ()
    """Indicators that the order list reports as seen."""


@dataclass(frozen=True, slots=True)
class Item:
    """One thing in hand, with everything observed about it."""

    key: str
    requirement: Requirement
    observations: tuple[Observation, ...]
    photos: tuple[str, ...] = ()
    """Names of the photos taken of it, in order."""


@dataclass(frozen=True, slots=True)
class Tally:
    """Confirmed items on which an indicator was looked for, and on how many of them it was seen."""

    indicator: str
    seen_on_bad: int = 0
    bad: int = 0
    seen_on_good: int = 0
    good: int = 0


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What else is known while one item is judged: the rest of the delivery and the record."""

    today: str
    """ISO date."""
    serials_elsewhere: tuple[tuple[str, str], ...] = ()
    """(serial, item) for serials on other items of the same delivery."""
    serials_before: tuple[tuple[str, str], ...] = ()
    """(serial, where) for serials in the record of earlier deliveries."""
    serials_received: tuple[tuple[str, str], ...] = ()
    """(serial, where) for a part looked at again: the delivery it came with, which is as it should be."""
    photos_elsewhere: tuple[tuple[str, str], ...] = ()
    """(photo hash, item) for photos also given for another item."""
    batches_elsewhere: tuple[tuple[str, str], ...] = ()
    """(batch, item) for the other units of the same ordered part in the same delivery."""
    prices_before: tuple[float, ...] = ()
    """Unit prices that this shop paid for the same part in the same currency."""
    tallies: tuple[Tally, ...] = ()
    """What confirmed outcomes say about the indicators so far."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One sentence of evidence, with what it points at and what it rests on."""

    code: str
    """Stable word; its effect stands in reference_specs/findings.toml."""
    weight: Weight
    question: Question
    says: str
    rests_on: str
    """The standard, table row or rule."""
    observations: tuple[str, ...] = ()
    next_step: str = ""
    indicator: str | None = None
    """Id in reference_specs/indicators.toml where the finding speaks for suspicion."""


@dataclass(frozen=True, slots=True)
class NotChecked:
    """Something that was not looked at, or could not be seen."""

    code: str
    says: str
    word: str = ""
    """The same in a word or two, for a table."""
    required: bool = False
    """Whether acceptance waits for it."""
    next_step: str = ""


@dataclass(frozen=True, slots=True)
class WeighedIndicator:
    """One indicator as it entered the total."""

    indicator: str
    group: str
    db: float
    db_low: float
    db_high: float
    share: float
    """1 for the strongest of its cause, 0.25 for the others."""
    says: str
    ratio: float = 1.0
    """Likelihood ratio used, undivided; judged, or learned where outcomes are known."""
    ratio_low: float = 1.0
    ratio_high: float = 1.0
    ordinary_causes: tuple[str, ...] = ()
    settle: str = ""
    learned_from: int = 0
    """Confirmed items that moved the ratio; 0 for a judged one."""


@dataclass(frozen=True, slots=True)
class Suspicion:
    """The total of the indicators: a likelihood ratio in dB with its range, and a word for it."""

    level: Level
    ratio_db: float
    low_db: float
    high_db: float
    indicators: tuple[WeighedIndicator, ...] = ()
    absence_db: float = 0.0
    """What the groups that were looked at and showed no sign say; never counted into the level, for a good copy shows
    none either."""
    absence_half_db: float = 0.0
    """Half the range of that."""
    groups_without: tuple[str, ...] = ()
    """Groups that were looked at and showed no sign."""
    prior_percent: float = 1.0
    """Share of bad items expected before looking."""
    supplier_class: str = ""
    """Kind of supplier that the prior stands for, in words; empty for an ordinary one."""
    looked_for: tuple[str, ...] = ()
    """Indicators that would have been seen had they been there: what a confirmed outcome teaches about."""


@dataclass(frozen=True, slots=True)
class Disposition:
    """What to do now, why, and what would change it."""

    word: DispositionWord
    exit: Exit
    reason: str
    """One sentence."""
    next_step: str
    rule: str
    """Id of the rule in reference_specs/disposition_rules.toml."""


@dataclass(frozen=True, slots=True)
class StepResult:
    """What a step may come to: what would be done with the part then, and how likely that is."""

    disposition: DispositionWord
    exit: Exit
    level: Level
    chance: float


@dataclass(frozen=True, slots=True)
class NextStep:
    """A step not yet made that may settle the doubt."""

    step: str
    """Id in reference_specs/steps.toml."""
    says: str
    hands_on_s: float
    wait_days: float
    cost_s: float
    """Work and waiting together, as steps.toml counts them."""
    chance: float
    """That it changes what is done with the part or shows plainly that something is wrong; rests on judged chances."""
    results: tuple[StepResult, ...] = ()
    has_to_show: tuple[str, ...] = ()
    """The missing checks that it would make, each in a word or two; all of them have to come out for ``chance``."""


@dataclass(frozen=True, slots=True)
class ScreenedItem:
    """The answer to the five questions for one item."""

    item: Item
    disposition: Disposition
    suspicion: Suspicion
    findings: tuple[Finding, ...]
    not_checked: tuple[NotChecked, ...]
    agreed: tuple[str, ...] = field(default_factory=tuple)
    """Sentences on what was compared and agrees."""
    next_steps: tuple[NextStep, ...] = ()
    """Steps that may settle it, the best for its cost first; empty where nothing is open."""
