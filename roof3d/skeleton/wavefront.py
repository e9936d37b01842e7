"""The shrinking outline: vertices that move, segments between them, events by place.

Events are not told apart by type but by place: all that meets at one point at one height is
settled together (``place.py``), so edge, split, vertex and multi-split events, and any
mixture of them at once, need no case list.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Sequence

from roof3d.skeleton.fronts import Front, Number, Slack
from roof3d.skeleton.hits import FrontTable
from roof3d.skeleton.place import Ray, Stuck, Unbounded, alternating
from roof3d.skeleton.vertex import Motion, Vertex, faster

Place = tuple[Number, Number]
Hit = tuple[Vertex, int]


# Order of events at one height: what is forced comes first. Plain numbers, since the heap
# compares them all the time.
_FORCED, _HIT, _COLLAPSE = 0, 1, 2
NEAR = tuple(itertools.product((0, -1, 1), repeat=2))


class Wavefront:
    """State of the shrinking outline; ``arcs`` and ``nodes`` are what it leaves behind.

    Attributes
    ----------
    nodes : list of (x, y, height)
        First the corners of the outline, in order.
    arcs : list[list[tuple[int, int]]]
        For each edge the sides of its face but the eave, as directed pairs of nodes, the
        face on their left.
    """

    def __init__(self, fronts: Sequence[Front], slack: Slack, *, budget: int) -> None:
        self.fronts = fronts
        self.slack = slack
        self.nodes: list[tuple[Number, Number, Number]] = []
        self.arcs: list[list[tuple[int, int]]] = [[] for _ in fronts]
        self._segments: list[dict[int, Vertex]] = [{} for _ in fronts]
        self._heap: list[tuple[Number, int, int, Vertex, object]] = []
        self._table = FrontTable(fronts, slack)
        self._budget = budget
        self._steps = 0
        self._pushed = 0
        self._made = 0
        self._alive: dict[int, Vertex] = {}
        self._now: Number = 0

    def add_ring(self, first_edge: int, corners: Sequence[Place]) -> None:
        """Add a ring; corner k lies where edge k starts."""
        count = len(corners)
        ring = [
            self._new((first_edge + (k - 1) % count, first_edge + k), self._node(p, 0), p, 0)
            for k, p in enumerate(corners)
        ]
        for k, v in enumerate(ring):
            v.prev, v.next = ring[k - 1], ring[(k + 1) % count]
            self._segments[v.right][v.number] = v

    def run(self) -> None:
        """Shrink until nothing is left.

        Raises
        ------
        Unbounded
            If something is left that never meets.
        Stuck
            If the numbers cannot tell what happens.
        """
        self._start()
        self._advance(None)
        self._require_closed()

    def _start(self) -> None:
        """Schedule what may happen first."""
        start = list(self._alive.values())
        for v in start:
            self._schedule(v)
        for v in start:
            if v.motion is Motion.REFLEX:
                self._aim(v)

    def _require_closed(self) -> None:
        if self._alive:
            raise Unbounded(next(iter(self._alive.values())).right)

    def _advance(self, last: Number | None) -> None:
        """Let happen all that happens up to a height, or all there is."""
        while self._heap and self._alive:
            t = self._heap[0][0]
            if last is not None and t > self._until(last):
                return
            batch = []
            until = self._until(t)
            while self._heap and self._heap[0][0] <= until:
                batch.append(heapq.heappop(self._heap))
            self._steps += len(batch)
            if self._steps > self._budget:
                raise Stuck("event budget spent")
            self._now = t
            self._settle(t, batch)

    def _until(self, t: Number) -> Number:
        return t if self.slack.exact else t + self.slack.time * (1.0 + t)

    # What may happen, and when.

    def _node(self, place: Place, t: Number) -> int:
        self.nodes.append((place[0], place[1], t))
        return len(self.nodes) - 1

    def _new(self, edges: tuple[int, int], node: int, place: Place, t: Number) -> Vertex:
        v = Vertex(self._made, edges, node, place, t)
        v.set_moving(self.fronts[edges[0]], self.fronts[edges[1]], self.slack)
        self._made += 1
        self._alive[v.number] = v
        return v

    def _push(self, t: Number, kind: int, v: Vertex, data: object) -> None:
        self._pushed += 1
        heapq.heappush(self._heap, (t, kind, self._pushed, v, data))

    def _schedule(self, v: Vertex) -> None:
        """Push what is forced at v and the collapse of the segment that starts there."""
        if v.motion >= Motion.RIDGE:
            self._push(v.t, _FORCED, v, None)
        when = self._collapse(v)
        if when is not None:
            self._push(when, _COLLAPSE, v, v.next)

    def _collapse(self, v: Vertex) -> Number | None:
        """Height at which the segment that starts at v has no length; None if never."""
        w = v.next
        if v.motion >= Motion.RIDGE or w.motion >= Motion.RIDGE:
            return None
        g = self.fronts[v.right]
        t = max(v.t, w.t)
        (ax, ay), (bx, by) = v.at(t), w.at(t)
        rate = (w.vx - v.vx) * g.b - (w.vy - v.vy) * g.a
        if rate >= -self.slack.turn * self.slack.time:
            return None
        return max(t, t - ((bx - ax) * g.b - (by - ay) * g.a) / rate)

    def _aim(self, v: Vertex) -> None:
        """Look for fronts that v, a reflex vertex, may hit before its own segments collapse."""
        times = [t for t in (self._collapse(v), self._collapse(v.prev)) if t is not None]
        until = min(times) if times else math.inf
        if until <= v.reach:
            return
        v.reach = until
        v.hits = self._table.ahead(v, self._now, float(until))
        self._next_hit(v)

    def _next_hit(self, v: Vertex) -> None:
        """Push the next hit to be tried; the exact kernel pushes them all."""
        early = self._now if self.slack.exact else self._now - self.slack.time * (1.0 + self._now)
        last: Number = None
        while v.hits:
            t, k = v.hits[-1]
            if last is not None and not self.slack.exact and t > self._until(last):
                return
            v.hits.pop()
            if t >= early:
                # All hits of one height are tried together, or their order would decide.
                last = t if last is None else last
                self._push(max(t, self._now), _HIT, v, k)

    # What happens at one height.

    def _settle(self, t: Number, batch: list[tuple[Number, int, int, Vertex, object]]) -> None:
        """Group what happens at one height by place, and settle place by place."""
        groups: dict[tuple[Number, Number], tuple[Place, list[Vertex], list[Hit]]] = {}
        for _, kind, _, v, data in batch:
            if not v.alive:
                continue
            if kind == _FORCED:
                self._settle_forced(t, v)
            elif kind == _HIT and isinstance(data, int):
                self._group(groups, v.at(t))[2].append((v, data))
            elif v.next is data:
                w = v.next
                # The slower of two vertices knows better where they meet.
                p = v.at(t) if v.speed() <= w.speed() else w.at(t)
                self._group(groups, p)[1].extend((v, w))
        for p, collapsing, hitting in groups.values():
            self._settle_group(t, p, collapsing, hitting)

    def _group(
        self, groups: dict[Place, tuple[Place, list[Vertex], list[Hit]]], p: Place
    ) -> tuple[Place, list[Vertex], list[Hit]]:
        if self.slack.exact:
            return groups.setdefault(p, (p, [], []))
        cell = 8.0 * self.slack.place
        column, row = round(p[0] / cell), round(p[1] / cell)
        if groups:
            for i, j in NEAR:
                found = groups.get((column + i, row + j))
                if found is not None:
                    return found
        return groups.setdefault((column, row), (p, [], []))

    def _settle_group(
        self, t: Number, p: Place, collapsing: Sequence[Vertex], hitting: Sequence[Hit]
    ) -> None:
        seeds = {v.number: v for v in collapsing if v.alive}
        pierced: dict[int, Vertex] = {}
        missed = []
        for v, k in hitting:
            if not v.alive:
                continue
            found = self._segments_at(v, k, p, t)
            if not found:
                missed.append(v)
                continue
            seeds[v.number] = v
            for a, end in found:
                if end is None:
                    pierced[a.number] = a
                else:
                    seeds[end.number] = end
        if seeds:
            self._resolve(t, p, seeds, pierced)
        for v in missed:
            if v.alive and not self.slack.exact:
                self._next_hit(v)

    def _reach_of(self, v: Vertex) -> Number:
        """How far a vertex may be from where it is thought to be."""
        if self.slack.exact:
            return 0
        return self.slack.place + 4.0 * self.slack.time * (1.0 + self._now) * v.speed()

    def _near(self, v: Vertex, p: Place, t: Number) -> bool:
        x, y = v.at(t)
        return bool(max(abs(x - p[0]), abs(y - p[1])) <= self._reach_of(v))

    def _segments_at(
        self, v: Vertex, k: int, p: Place, t: Number
    ) -> list[tuple[Vertex, Vertex | None]]:
        """Segments of edge k that hold p, each with its end there if p is at one.

        Where the segment is the one after v's own, or the one before, v's own segment
        collapses at the same time: that event, not this one, does the work.
        """
        f = self.fronts[k]
        found: list[tuple[Vertex, Vertex | None]] = []
        for a in self._segments[k].values():
            b = a.next
            (ax, ay), (bx, by) = a.at(t), b.at(t)
            from_start = (p[0] - ax) * f.b - (p[1] - ay) * f.a
            to_end = (bx - p[0]) * f.b - (by - p[1]) * f.a
            near_a, near_b = self._reach_of(a), self._reach_of(b)
            if from_start < -near_a or to_end < -near_b or v in (a, b):
                continue
            end = a if from_start <= near_a else b if to_end <= near_b else None
            if (end is a and a is v.next) or (end is b and b is v.prev):
                continue
            if end is not None and end.node == v.node:
                continue  # born with v at this very place: they have met already
            found.append((a, end))
        return found

    def _settle_forced(self, t: Number, v: Vertex) -> None:
        """Settle at once a vertex between parallel fronts, which cannot move on.

        Facing fronts meet along a line up to the nearer of their far ends. Of two fronts
        in line the faster (the flatter plane) wins: it overruns the other's segment.
        """
        p, q = v.prev, v.next
        if v.motion is Motion.OVERRUN:
            far = q if faster(self.fronts[v.left], self.fronts[v.right]) > 0 else p
            self._resolve(t, far.at(t), {far.number: far, v.number: v}, {}, slid=v)
            return
        (px, py), (qx, qy) = p.at(t), q.at(t)
        to_p = abs(px - v.x) + abs(py - v.y)
        to_q = abs(qx - v.x) + abs(qy - v.y)
        if self._near(q, (px, py), t):
            self._resolve(t, (px, py), {p.number: p, q.number: q}, {})
        elif to_p < to_q:
            self._resolve(t, (px, py), {p.number: p}, {v.number: v})
        else:
            self._resolve(t, (qx, qy), {q.number: q}, {p.number: p})

    # One place.

    def _resolve(
        self,
        t: Number,
        p: Place,
        seeds: dict[int, Vertex],
        pierced: dict[int, Vertex],
        slid: Vertex | None = None,
    ) -> None:
        """Settle all that meets at one place: kill what ends, make what goes on."""
        here = self._gathered(t, p, seeds, slid)
        through = [
            a for a in pierced.values() if a.number not in here and a.next.number not in here
        ]
        node = self._node(p, t)
        rays: list[Ray] = []
        for v in here.values():
            if v.prev.number not in here:
                rays.append(Ray.arriving(self.fronts[v.left], v.left, v.prev))
            if v.next.number not in here:
                rays.append(Ray.leaving(self.fronts[v.right], v.right, v.next))
        for a in through:
            rays.append(Ray.arriving(self.fronts[a.right], a.right, a))
            rays.append(Ray.leaving(self.fronts[a.right], a.right, a.next))
            del self._segments[a.right][a.number]
        for v in here.values():
            self._kill(v, node)
        made = [
            (self._new((into.edge, out.edge), node, p, t), into.far, out.far)
            for out, into in alternating(rays, self.slack)
        ]
        self._link(made)

    def _gathered(
        self, t: Number, p: Place, seeds: dict[int, Vertex], slid: Vertex | None
    ) -> dict[int, Vertex]:
        """Add to the seeds every vertex that follows on in its chain at the same place."""
        here = dict(seeds)
        for v in seeds.values():
            w = v.prev
            while w.number not in here and w is not slid and self._near(w, p, t):
                here[w.number] = w
                w = w.prev
            w = v.next
            while w.number not in here and w is not slid and self._near(w, p, t):
                here[w.number] = w
                w = w.next
        return here

    def _kill(self, v: Vertex, node: int) -> None:
        v.alive = False
        del self._alive[v.number]
        self._segments[v.right].pop(v.number, None)
        self.arcs[v.left].append((v.node, node))
        self.arcs[v.right].append((node, v.node))

    def _link(self, made: Sequence[tuple[Vertex, Vertex, Vertex]]) -> None:
        """Tie new vertices into their chains and schedule what comes next."""
        for v, before, after in made:
            v.prev, v.next = before, after
            before.next = v
            after.prev = v
        for v, before, _ in made:
            self._segments[v.right][v.number] = v
            self._segments[before.right][before.number] = before
        for v, before, after in made:
            if before is after and v.alive:
                # A chain of two encloses nothing: its ridge is the arc between them.
                self._kill(before, v.node)
                self._kill(v, v.node)
        fresh = [v for v, _, _ in made if v.alive]
        for v in fresh:
            self._schedule(v)
            self._schedule(v.prev)
        for v in fresh:
            for w in (v, v.prev, v.next):
                if w.motion is Motion.REFLEX:
                    self._aim(w)
