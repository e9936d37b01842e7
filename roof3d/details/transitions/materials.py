"""Which catalog materials the joint of a membrane and shingles is made of."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class JointMaterials:
    """Catalog material ids by what they do in the joint."""

    deck: str
    base: str
    ply: str
    cap: str
    underlayment: str
    starter: str
    shingles: str
