"""A name made comparable and sealed again: two spellings that differ only in capitals or accents become equal."""

from __future__ import annotations

from portfolio.model.names import SealedName
from portfolio.model.people import ChildName
from portfolio.privacy.letters import fold_name
from portfolio.privacy.seal import seal, unseal_for_storage


def alike(name: ChildName) -> ChildName:
    """Given and family name without capitals, accents and punctuation; the other parts are left off."""
    return ChildName(alike_part(name.given), alike_part(name.family))


def alike_part(part: SealedName) -> SealedName:
    """One part of a name in its comparable form."""
    return seal(fold_name(unseal_for_storage(part)))
