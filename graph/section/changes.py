"""What a section shows of two assemblies that differs, in words: the reader need not compare two drawings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from graph.section.model import AssemblyCut, CutGap, CutPiece


def changes_between(before: AssemblyCut, after: AssemblyCut) -> tuple[str, ...]:
    """The pieces that differ, from the engine rearwards, then the gaps. A length that either side does not state is
    told as not stated, never as the same. Another part that is said to be as long changes nothing along the axis.
    """
    return (*_pieces(_by_name(before.pieces), _by_name(after.pieces)), *_gaps(before.gaps, after.gaps))


def _by_name(pieces: Sequence[CutPiece]) -> Mapping[tuple[str, int], CutPiece]:
    """By name, and of several of one name by their order from the engine rearwards."""
    found: dict[tuple[str, int], CutPiece] = {}
    for one in pieces:
        found[one.name, sum(name == one.name for name, _ in found)] = one
    return found


def _pieces(old: Mapping[tuple[str, int], CutPiece], new: Mapping[tuple[str, int], CutPiece]) -> Iterator[str]:
    for key, one in new.items():
        was, name = old.get(key), one.name
        if was is None:
            yield f"{name} comes in: {one.words}"
            continue
        if was.words != one.words:
            said = f"{name}, another one" if was.part != one.part else name
            yield f"{said}. Before: {was.words}. After: {one.words}{_difference(was, one)}"
    for key, was in old.items():
        if key not in new:
            yield f"{was.name} goes: {was.words}"


def _difference(was: CutPiece, now: CutPiece) -> str:
    first, second = (_length(one) for one in (was, now))
    if first is None or second is None or first == second:
        return ""
    return f" ({_mm(abs(second - first))} {'longer' if second > first else 'shorter'})"


def _length(one: CutPiece) -> int | None:
    """Of a piece that is drawn with both its ends."""
    if one.from_um is None or one.to_um is None or one.goes_on:
        return None
    return one.to_um - one.from_um


def _gaps(old: Sequence[CutGap], new: Sequence[CutGap]) -> Iterator[str]:
    known = {one.chain: one for one in old}
    for one in new:
        was = known.get(one.chain)
        if was is None or was.value_um != one.value_um:
            before = "not known" if was is None or was.value_um is None else _mm(was.value_um)
            after = "not known" if one.value_um is None else _mm(one.value_um)
            yield f"{one.label}. Before: {before}. After: {after}"


def _mm(um: int) -> str:
    return f"{um / 1000:.1f} mm"
