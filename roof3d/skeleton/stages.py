"""A wavefront whose fronts change speed on the way up, or that is cut by a deck."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from roof3d.skeleton.fronts import Front, Number, Slack
from roof3d.skeleton.vertex import Motion, Vertex
from roof3d.skeleton.wavefront import Wavefront


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """From height ``t`` on the front of ``edge`` is ``onward``, which lies on it there."""

    t: Number
    edge: int
    onward: int


class StagedWavefront(Wavefront):
    """A wavefront with changes and a cap.

    Attributes
    ----------
    deck : list[tuple[int, ...]]
        Rings of nodes where a cap cut the outline, the inside on their left.
    """

    def __init__(
        self,
        fronts: Sequence[Front],
        slack: Slack,
        *,
        budget: int,
        changes: Sequence[Change],
        cap: Number | None,
    ) -> None:
        super().__init__(fronts, slack, budget=budget)
        self.deck: list[tuple[int, ...]] = []
        self._changes = changes
        self._cap = cap

    def run(self) -> None:
        """Shrink until nothing is left, or up to the cap."""
        cap = self._cap
        self._start()
        changes = [change for change in self._changes if cap is None or change.t < cap]
        for t in sorted({change.t for change in changes}):
            self._advance(t)
            self._now = t
            self._change([change for change in changes if change.t == t])
        self._advance(cap)
        if cap is not None:
            self._now = cap
            self._cut(cap)
        self._require_closed()

    def _change(self, changes: Sequence[Change]) -> None:
        """Give edges new fronts from this height on; their vertices are made anew."""
        t = self._now
        renamed = {change.edge: change.onward for change in changes}
        old: dict[int, Vertex] = {}
        for edge in renamed:
            for a in self._segments[edge].values():
                old[a.number], old[a.next.number] = a, a.next
        fresh: dict[int, Vertex] = {}
        for v in old.values():
            edges = (renamed.get(v.left, v.left), renamed.get(v.right, v.right))
            p = v.at(t)
            fresh[v.number] = self._new(edges, self._node(p, t), p, t)
        for v in old.values():
            w, after = fresh[v.number], fresh.get(v.next.number, v.next)
            w.next, after.prev = after, w
            before = fresh.get(v.prev.number, v.prev)
            w.prev, before.next = before, w
        for v in old.values():
            if v.right in renamed:
                top = (fresh[v.next.number].node, fresh[v.number].node)
                self.arcs[v.right].append(top)
                self.arcs[renamed[v.right]].append(top[::-1])
            self._kill(v, fresh[v.number].node)
        for w in fresh.values():
            self._segments[w.right][w.number] = w
        for w in fresh.values():
            self._schedule(w)
            self._schedule(w.prev)
        self._aim_again()

    def _aim_again(self) -> None:
        """Look ahead anew: corners made anew have not, and others may live longer now."""
        for v in list(self._alive.values()):
            if v.motion is Motion.REFLEX:
                v.reach = 0
                self._aim(v)

    def _cut(self, t: Number) -> None:
        """End all that is left at a height; its rings bound the deck."""
        nodes = {v.number: self._node(v.at(t), t) for v in self._alive.values()}
        left = dict(self._alive)
        while left:
            v = next(iter(left.values()))
            ring = []
            while v.number in left:
                del left[v.number]
                ring.append(nodes[v.number])
                self.arcs[v.right].append((nodes[v.next.number], nodes[v.number]))
                v = v.next
            self.deck.append(tuple(ring))
        for v in list(self._alive.values()):
            self._kill(v, nodes[v.number])
