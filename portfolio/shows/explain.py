"""Why a work is in or out of a show, and what was missing: in the teacher's words, one sentence each."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from portfolio.model.showing import Candidate, Mark, Reason, ShowLimits


def reasons(offered: Sequence[Candidate], chosen: frozenset[int], *, limits: ShowLimits) -> dict[int, Reason]:
    """The reason of every work offered, by work id."""
    able = Counter(child for work in offered if work.mark is not Mark.NEVER for child in work.student_ids)
    shown = Counter(child for work in offered if work.work_id in chosen for child in work.student_ids)
    area = sum(work.area_mm2 or 0 for work in offered if work.work_id in chosen)
    best = {child: max(work.stars for work in offered if child in work.student_ids) for child in able}
    told: dict[int, Reason] = {}
    for work in offered:
        if work.work_id in chosen:
            told[work.work_id] = Reason(True, _why_in(work, able=able, shown=shown, best=best))
        else:
            full = limits.works is not None and len(chosen) >= limits.works
            told[work.work_id] = Reason(False, _why_out(work, limits, shown=shown, full=full, area=area))
    return told


def _why_in(work: Candidate, *, able: Counter[int], shown: Counter[int], best: dict[int, int]) -> str:
    if work.mark is Mark.MUST:
        return "You marked it to be in the show."
    if len(work.student_ids) > 1:
        return f"A group work: it shows {len(work.student_ids)} children at once."
    child = work.student_ids[0]
    if able[child] == 1:
        return "The only work of this child that may be shown."
    if shown[child] > 1:
        return f"One of {shown[child]} works of this child: there was room for more than one each."
    if work.stars and work.stars == best[child]:
        return f"The one you starred most among this child's {able[child]} works."
    return f"One of this child's {able[child]} works: it keeps media and grades in balance."


def _why_out(work: Candidate, limits: ShowLimits, *, shown: Counter[int], full: bool, area: int) -> str:
    if work.mark is Mark.NEVER:
        return "You marked it to stay out."
    if limits.surface_mm2 is not None and work.area_mm2 is None:
        return "Its size is not measured, so its place on the wall cannot be planned."
    if any(shown[child] >= limits.per_child for child in work.student_ids):
        each = "a work" if limits.per_child == 1 else f"{limits.per_child} works"
        return f"This child has {each} in the show already."
    if full:
        return f"No place left: the limit is {limits.works} works."
    if limits.surface_mm2 is not None and area + (work.area_mm2 or 0) > limits.surface_mm2:
        return "No room left on the wall."
    return "Others kept media and grades better in balance."


def shortage(
    offered: Iterable[Candidate], missing: Sequence[int], limits: ShowLimits, *, needed: tuple[int, int] | None = None
) -> str:
    """What is missing so that every child has a place; empty when nothing is."""
    works = list(offered)
    if not works:
        return "No work may be shown to these readers yet."
    if not missing:
        return ""
    unmeasured = [work for work in works if work.area_mm2 is None] if limits.surface_mm2 is not None else []
    only = {child for work in unmeasured for child in work.student_ids if child in missing}
    parts = [f"{_children(len(missing))} no place."]
    if needed is not None and limits.works is not None and needed[0] > limits.works:
        parts.append(f"{needed[0]} works would give every child a place; the limit is {limits.works}.")
    if needed is not None and limits.surface_mm2 is not None and needed[1] > limits.surface_mm2:
        parts.append(f"{_square_meters(needed[1] - limits.surface_mm2)} more wall would give every child a place.")
    if only:
        parts.append(f"Measure the works of {len(only)} of them: a work without a size cannot be planned.")
    return " ".join(parts)


def _children(count: int) -> str:
    return "1 child has" if count == 1 else f"{count} children have"


def _square_meters(area_mm2: int) -> str:
    return f"{max(0.1, area_mm2 / 1_000_000):.1f} m²"
