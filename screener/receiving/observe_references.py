"""An item's box and face photos beside the shop's references of its maker and product, as observations.

Nothing is done, and no library loaded, where the record keeps no reference of the product.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from screener.errors import InputUnreadable
from screener.receiving.observe import SPOILT, Notebook
from screener.records.references import References
from screener.screening.checks.reference import ALIKE, NOT_COMPARED
from screener.screening.model import BOX_CHANNELS, Source
from screener.screening.observed import observed
from screener.specs.makers import maker_name

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from pathlib import Path

    from screener.looking.reading import PhotoReading
    from screener.receiving.compare_references import ReferenceComparison
    from screener.receiving.photo_files import PhotoFile
    from screener.records.archive import Archive
    from screener.records.record import Record
    from screener.records.references import ReferencePhoto
    from screener.screening.model import Channel, Item

    Compare = Callable[[Path, tuple[ReferencePhoto, ...], Archive], ReferenceComparison]

LEAST_LINES = 2
"""Lines of text without which a photo, having no code either, is not taken for one of the box."""


def with_references(
    items: Iterable[Item],
    readings: Mapping[str, PhotoReading],
    photos: Mapping[str, PhotoFile],
    record: Record,
    compare: Compare | None = None,
) -> list[Item]:
    """Return the items with what their photos show beside the references of their maker and product.

    ``compare`` does `compare_photo` elsewhere: a server opens no picture in its own process.
    """
    with References(record) as kept:
        everything = kept.all()
        if not everything:
            return list(items)
        return [_with_references(item, readings, photos, record, _of_product(item, kept), compare) for item in items]


def _of_product(item: Item, kept: References) -> tuple[ReferencePhoto, ...]:
    """References of a product that the order or the box names, and of a maker that either names."""
    boxed = observed(item, "designation", BOX_CHANNELS)
    products = dict.fromkeys([*(str(o.value) for o in boxed), item.requirement.need])
    words = [str(o.value) for o in observed(item, "maker", BOX_CHANNELS)]
    makers = {maker_name(w) for w in [*words, *([item.requirement.maker] if item.requirement.maker else [])]}
    found = {r.id: r for p in products if p.strip() for r in kept.all(product=p)}
    return tuple(r for r in found.values() if maker_name(r.maker) in makers)


def _with_references(
    item: Item,
    readings: Mapping[str, PhotoReading],
    photos: Mapping[str, PhotoFile],
    record: Record,
    references: tuple[ReferencePhoto, ...],
    compare: Compare | None,
) -> Item:
    if not references:
        return item
    notebook = Notebook(list(item.observations))
    for name in item.photos:
        reading = readings[name]
        if reading.readable and name in photos:
            for kind in _shows(reading):
                mine = tuple(r for r in references if r.kind == kind)
                if mine:
                    _observe(reading, photos[name], mine, record, notebook, compare)
    return replace(item, observations=tuple(notebook.observations))


def _shows(reading: PhotoReading) -> tuple[str, ...]:
    lines = len(reading.label.lines) if reading.label is not None else 0
    box = bool(reading.codes) or lines >= LEAST_LINES
    return (*(("package",) if box else ()), *(("marking",) if reading.parts else ()))


def _observe(
    reading: PhotoReading,
    photo: PhotoFile,
    references: tuple[ReferencePhoto, ...],
    record: Record,
    notebook: Notebook,
    compare: Compare | None,
) -> None:
    channel: Channel = "label" if references[0].kind == "package" else "marking"
    source = Source(channel, reading.photo, reading.sha256, reader=NOT_COMPARED)
    # Blur is told of the part that was found; how sharp a panel is the comparison itself finds out.
    spoilt = SPOILT if references[0].kind == "marking" else SPOILT - {"blurred"}
    if spoilt & {p.code for p in reading.problems}:
        notebook.note("reference", "the photo is too poor to be compared with a reference.", source)
        return
    from screener.receiving.compare_references import compare_photo

    try:
        comparison = (compare or compare_photo)(photo.path, references, record.archive)
    except InputUnreadable as fault:
        notebook.note("reference", fault.says, source)
        return
    _note(comparison, source, notebook)


def _note(comparison: ReferenceComparison, source: Source, notebook: Notebook) -> None:
    best = comparison.best
    if comparison.problem or best is None:
        notebook.note("reference", comparison.problem, source)
        return
    for gap in best.compared.not_judged:
        notebook.note("reference", f"{gap.aspect}: {gap.says}", source)
    if not best.compared.differences:
        notebook.note("reference", f"as {best.reference.says}", replace(source, reader=ALIKE))
    for d in best.compared.differences:
        seen = replace(source, region_px=d.outline_photo_px, reader=d.kind)
        notebook.note("reference", f"{d.says.rstrip('.')}, beside {best.reference.says}.", seen)
