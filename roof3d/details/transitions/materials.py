"""Which catalog materials the joint of a membrane and shingles is made of."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class JointMaterials:
    """Catalog material ids by what they do in the joint; base and ply empty where there is none."""

    deck: str
    cap: str
    underlayment: str
    starter: str
    shingles: str
    base: str = ""
    ply: str = ""

    @property
    def sheets(self) -> tuple[tuple[str, str], ...]:
        """Role and material of each sheet of the membrane, bottom up; the cap is the last."""
        roles = (("base", self.base), ("ply", self.ply), ("cap", self.cap))
        return tuple((role, name) for role, name in roles if name)
