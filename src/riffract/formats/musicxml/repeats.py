"""The order in which bars are played: repeats, endings, da capo, dal segno and coda."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from riffract.formats.musicxml.flow import Flow
from riffract.formats.musicxml.report import Report, Spot

MOST_PLAYED_BARS: Final = 20_000

_NO_FLOW: Final = Flow()


@dataclass(frozen=True, slots=True)
class _Ending:
    first: int
    last: int
    passes: frozenset[int]


@dataclass(slots=True, eq=False)
class _Repeat:
    """Bars that are played several times: up to `last`, or up to the end of an ending."""

    first: int
    last: int
    passes: int
    is_played_after_jump: bool = False


@dataclass(slots=True)
class _Signs:
    """Repeats, ready to be followed: by the bar they start at, go back from, or have endings at."""

    starting_at: dict[int, list[_Repeat]] = field(default_factory=dict)
    back_at: dict[int, _Repeat] = field(default_factory=dict)
    endings: dict[int, tuple[_Ending, _Repeat]] = field(default_factory=dict)

    def add(self, repeat: _Repeat) -> None:
        self.starting_at.setdefault(repeat.first, []).append(repeat)


def playing_order(bar_count: int, flow: Mapping[int, Flow], report: Report) -> list[int]:
    """List the bars as they are played, as indices of written bars.

    Rules: a repeat goes back to the matching sign in front of it, else to the end of the last
    repeat, else to the start. An ending is played in its passes only. After a da capo or dal segno
    repeats are not played again, last endings are taken, `fine` ends the music and `to coda` leads
    to the coda. Each jump is made once.

    Args:
        bar_count: how many bars are written.
        flow: what bars say about the order, by index.
        report: told of jumps without a goal, and of an order that never ends.

    Returns:
        Indices in order; the written order if the repeats would unfold to too many bars.

    Source: MusicXML 4.0, `repeat`, `ending`, `sound`; common practice for repeats after a jump.

    >>> playing_order(3, {1: Flow(is_repeat_end=True)}, Report())
    [0, 1, 0, 1, 2]
    """
    if not flow:
        return list(range(bar_count))
    order = _Player(bar_count, flow, _signs(bar_count, flow, report), report).play()
    if len(order) <= MOST_PLAYED_BARS:
        return order or list(range(bar_count))
    report.error(
        f"the repeats unfold to more than {MOST_PLAYED_BARS:,} bars",
        "lower the `times` of the repeats, or export a shorter passage",
        _spot(order[-1], flow),
    )
    return list(range(bar_count))


def _spot(bar: int, flow: Mapping[int, Flow]) -> Spot:
    return Spot(flow.get(bar, _NO_FLOW).line, bar)


def _ending_groups(bar_count: int, flow: Mapping[int, Flow]) -> list[list[_Ending]]:
    """List endings; those of one repeat, which follow each other at once, stand together.

    An ending lasts until its end is written or a repeat goes back; else for one bar.
    """
    groups: list[list[_Ending]] = []
    firsts = sorted(bar for bar, says in flow.items() if says.ending and bar < bar_count)
    for first, following in zip(firsts, [*firsts, bar_count][1:], strict=True):
        signs = ((bar, flow.get(bar, _NO_FLOW)) for bar in range(first, following))
        closed = (bar for bar, says in signs if says.ends_ending or says.is_repeat_end)
        ending = _Ending(first, next(closed, first), flow[first].ending)
        before = groups[-1][-1] if groups else None
        if before and before.last == first - 1 and not before.passes & ending.passes:
            groups[-1].append(ending)
        else:
            groups.append([ending])
    return groups


@dataclass(slots=True)
class _Matching:
    """Pairs each repeat sign that goes back with the place it goes back to."""

    flow: Mapping[int, Flow]
    signs: _Signs = field(default_factory=_Signs)
    open_signs: list[int] = field(default_factory=list)
    free_from: int = 0

    def close(self, last: int, passes: int, *, after_jump: bool) -> _Repeat:
        first = self.open_signs.pop() if self.open_signs else self.free_from
        repeat = _Repeat(first, last, passes, after_jump)
        self.signs.add(repeat)
        self.free_from = max(self.free_from, last + 1)
        return repeat

    def close_group(self, group: list[_Ending]) -> None:
        """Make one repeat of a group of endings; one ending alone leaves a last pass without it."""
        backs = [e.last for e in group if self.flow.get(e.last, _NO_FLOW).is_repeat_end]
        last_pass = max(max(ending.passes) for ending in group)
        passes = last_pass + 1 if len(group) == 1 else last_pass
        repeat = self.close(group[-1].last, max(2, passes), after_jump=False)
        self.add_endings(group, repeat)
        self.signs.back_at.update(dict.fromkeys(backs, repeat))

    def add_endings(self, group: list[_Ending], repeat: _Repeat) -> None:
        for ending in group:
            self.signs.endings[ending.first] = (ending, repeat)


def _signs(bar_count: int, flow: Mapping[int, Flow], report: Report) -> _Signs:
    matching = _Matching(flow)
    groups = {group[0].first: group for group in _ending_groups(bar_count, flow)}
    for bar in sorted(bar for bar in flow if bar < bar_count):
        if flow[bar].is_repeat_start:
            matching.open_signs.append(bar)
        if bar in groups:
            _match_group(groups[bar], matching, report)
        if flow[bar].is_repeat_end and bar not in matching.signs.back_at:
            passes = flow[bar].times or 2
            repeat = matching.close(bar, passes, after_jump=flow[bar].repeats_after_jump)
            matching.signs.back_at[bar] = repeat
    return matching.signs


def _match_group(group: list[_Ending], matching: _Matching, report: Report) -> None:
    says = [matching.flow.get(ending.last, _NO_FLOW) for ending in group]
    if any(flow.is_repeat_end for flow in says):
        matching.close_group(group)
    elif any(flow.is_da_capo or flow.dal_segno for flow in says):
        # the jump is what leads back here: endings before it are for the first time, the last
        # one is for the time after it
        last_pass = max(max(ending.passes) for ending in group)
        matching.add_endings(group, _Repeat(group[0].first, group[-1].last, last_pass))
    else:
        report.warn(
            "lone ending",
            "endings without a repeat sign are played one after the other",
            "write a `repeat` that goes back at the end of the first ending",
            _spot(group[0].first, matching.flow),
        )


@dataclass(slots=True)
class _Player:
    """Follows the signs from bar to bar."""

    bar_count: int
    flow: Mapping[int, Flow]
    signs: _Signs
    report: Report
    pass_of: dict[_Repeat, int] = field(default_factory=dict)
    has_jumped: bool = False
    is_in_coda: bool = False

    def play(self) -> list[int]:
        """List bars in order; one more than allowed if there would be too many."""
        order: list[int] = []
        bar, came_back = 0, None
        while bar < self.bar_count and len(order) <= MOST_PLAYED_BARS:
            self._enter(bar, came_back)
            came_back = None
            ending, repeat = self.signs.endings.get(bar, (None, None))
            if ending and repeat and self._pass_of(repeat) not in ending.passes:
                bar = ending.last + 1
                continue
            order.append(bar)
            came_back = self._repeat_back(bar)
            goal = came_back.first if came_back else self._after(bar)
            if goal is None:
                break
            bar = goal
        return order

    def _enter(self, bar: int, came_back: _Repeat | None) -> None:
        """Start counting the repeats that begin here, unless one of them, or in it, came back."""
        for repeat in self.signs.starting_at.get(bar, ()):
            if came_back is None or repeat.last < came_back.last:
                skips = self.has_jumped and not repeat.is_played_after_jump
                self.pass_of[repeat] = repeat.passes if skips else 1

    def _pass_of(self, repeat: _Repeat) -> int:
        return self.pass_of.get(repeat, repeat.passes if self.has_jumped else 1)

    def _repeat_back(self, bar: int) -> _Repeat | None:
        repeat = self.signs.back_at.get(bar)
        if repeat is None or self._pass_of(repeat) >= repeat.passes:
            return None
        self.pass_of[repeat] = self._pass_of(repeat) + 1
        return repeat

    def _after(self, bar: int) -> int | None:
        """Tell which bar follows once no repeat goes back from here; `None` at the end."""
        says = self.flow.get(bar, _NO_FLOW)
        if self.has_jumped:
            if says.is_fine:
                return None
            if says.to_coda and not self.is_in_coda:
                self.is_in_coda = True
                return self._goal("coda", says.to_coda, bar)
        elif says.is_da_capo or says.dal_segno:
            self.has_jumped = True
            self.pass_of.clear()
            return 0 if says.is_da_capo else self._goal("segno", says.dal_segno, bar)
        return bar + 1

    def _goal(self, sign: str, name: str, bar: int) -> int:
        """Find the bar with a sign: of that name, else the only kind there is; else go on."""
        places = {
            place: str(getattr(says, sign))
            for place, says in sorted(self.flow.items())
            if getattr(says, sign)
            and place < self.bar_count
            and not (sign == "coda" and says.to_coda)
        }
        named = [place for place, own_name in places.items() if own_name == name]
        found = (named or list(places))[:1]
        if found:
            return found[0]
        self.report.warn(
            f"no {sign}",
            f"the music jumps to a {sign} sign that is not there; it goes on instead",
            f"write a `{sign}` where the jump leads",
            _spot(bar, self.flow),
        )
        return bar + 1
