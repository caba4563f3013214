"""The search for a pattern: figures near the drawing, each with several sets of creases, in the time allowed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import islice
from operator import attrgetter

from verify.construct.coordinates.net import NotSnapped
from verify.construct.coordinates.snapping import Snapped
from verify.construct.creases.costs import MANY_FOLDS, Costs, costs
from verify.construct.creases.creases import Construction, Endless, Exhausted
from verify.construct.creases.propose import IN_TIME, Failure, Proposal, by_simple_folds, proposals
from verify.construct.moves.blame import helpful, uneven
from verify.construct.moves.trials import Trial
from verify.construct.skeleton.figure import figures_of
from verify.construct.skeleton.perpendiculars import MANY_STEPS, MOST_STEPS
from verify.exact.effort import ANY_WORK, EffortSpent, bounded
from verify.pattern.document import IN_MM, Document
from verify.pattern.limits import Clock, LimitReached, Limits, Progress
from verify.pattern.source import Malformed
from verify.tasks.certify import Result, certify_folded
from verify.tasks.construct_found import Constructed, Prefer, rank
from verify.words.findings import counted
from verify.words.hands_findings import SHORT_MM

_SEARCHED = 0.8  # of the time; the rest is for the certificate
_FIGURE = 1 / 8  # of the time that is left: for one figure until its creases are known
_SLOW, _ONLY = 1 / 2, 3 / 4  # for one that takes long to make; if no other's creases end
_SHORT = SHORT_MM[1]
# from so many folds on one whose perpendiculars were made to end, without loops, is enough if it is worth moving: it
# needs fewer folds than others by that factor, or as few and no creases that are too short
_SOME_FOLDS = 100
_WORTH = 0.95
_FIRST, _OTHER = 1 / 2, 1 / 3  # for the figure with fewest folds, and for each of the others
_BETTER = 1 / 10  # for one that may have fewer folds than what was found
_SPARE = 2  # so many times as many folds are too many, whatever is preferred
# once a set folds as a tree, so many others are tried, divided by the square of its folds; two, if it has so few
_MORE, _TWO_MORE = 900_000, 1_500
_SIMPLE = 30  # of as few folds so many are looked at, whether simple folds make them
_LEAST = 0.001  # seconds
_BLAMED = 6  # lines
UNFINISHED = "not all sets of creases were tried"
_TOO_LONG = "the pattern's numbers are too long to be written down"
_EXACT = "--exact keeps the lines where they are, in a number field"
_NUDGE = "--nudge MM lets the figure move farther"
_NUDGE_MORE = "a larger --nudge lets the figure move farther"


@dataclass(frozen=True)
class Wanted:
    """What is asked for, whatever the sheet."""

    tries: int
    prefer: Prefer
    exact: bool
    snap_mm: Fraction | None
    nudge_mm: Fraction | None
    limits: Limits
    progress: Progress
    best_on_interrupt: bool

    def within(self, clock: Clock) -> Wanted:
        """The same, in the time of a clock."""
        return replace(self, limits=replace(self.limits, seconds=clock.left))


@dataclass(frozen=True)
class Ready:
    """A figure to construct for, the creases that it may have, and about how few and how long."""

    trial: Trial
    moved: Snapped
    construction: Construction
    costs: Costs

    @property
    def folds(self) -> int:
        return self.costs.folds

    @property
    def has_short_creases(self) -> bool:
        return self.costs.shortest * float(IN_MM[self.moved.document.unit]) < _SHORT

    @property
    def rank(self) -> tuple[float, ...]:
        """What is lowest for the figure to try first: few folds; of as few, no crease too short for hands; of these, no
        point moved; then few straight pieces.
        """
        return self.folds, self.has_short_creases, bool(self.moved.moves), self.costs.pieces

    @property
    def is_least(self) -> bool:
        """Whether no other need be looked at: it folds along arcs from corners alone, as all near it do."""
        corners = {*self.construction.figure.points}
        arcs = sum(end in corners for arc in self.construction.arcs for end in arc)
        return self.folds <= arcs and not (self.has_short_creases or self.moved.moves)

    def is_worth_moving(self, others: Sequence[Ready]) -> bool:
        """Whether this figure, which moves farther, is to be tried before the first of others."""
        if not others or others[0].folds > MANY_FOLDS:
            return True
        longer = self.folds <= others[0].folds and others[0].has_short_creases and not self.has_short_creases
        return longer or self.folds < _WORTH * others[0].folds


Found = tuple[Proposal, Ready]


class Search:
    """Trials one after the other, in the time that there is."""

    def __init__(self, document: Document, wanted: Wanted) -> None:
        self.document, self.wanted = document, wanted
        self.prefer, self.limits, self.progress = wanted.prefer, wanted.limits, wanted.progress
        seconds = self.limits.seconds
        self.whole = Clock(seconds, UNFINISHED)
        self.clock = Clock(None if seconds is None else _SEARCHED * seconds, UNFINISHED)
        self.count = self.folding = self.trials = 0
        self.failures: list[Failure] = []
        self.ends: list[Exception] = []  # what each trial that found nothing came to
        self.known: list[Document] = []
        self.done: set[Trial] = set()  # but those that a limit ended
        self.as_drawn = 0  # folds of the figure that is not moved, once known
        self.least = 0  # folds of the figure that is likely to have fewest
        self.stopped = False
        # how much of what contradicts itself each line has to do with
        self.against: Counter[tuple[str, str]] = Counter()

    @property
    def is_over(self) -> bool:
        return self.clock.left == 0

    @contextmanager
    def within(self, share: float, trial: Trial) -> Iterator[Limits]:
        """Some of the time that is left for a trial; what ends there is noted."""
        left = self.clock.left
        seconds = None if left is None else max(left * share, _LEAST)
        try:
            with self.until_stopped(), bounded(ANY_WORK, seconds):
                yield replace(self.limits, seconds=seconds, degree=trial.degree)
            self.done.add(trial)
        except EffortSpent:
            self.ends.append(LimitReached("seconds", f"{self.limits.seconds:g}", UNFINISHED))
        except Malformed:
            self.failures.append(Failure(trial.why, _TOO_LONG))
        except (NotSnapped, Endless, Exhausted) as end:
            self.ends.append(end)
            self.done.add(trial)
        except LimitReached as end:
            self.ends.append(end)

    @contextmanager
    def until_stopped(self) -> Iterator[None]:
        """The first Ctrl-C with a pattern to take ends what is done here, and the search."""
        try:
            yield
        except KeyboardInterrupt:
            if self.stopped or not (self.wanted.best_on_interrupt and self.folding):
                raise
            self.clock.stop()
            self.stopped = True

    def farther(self, trials: Sequence[Trial], near: Sequence[Ready]) -> list[Ready]:
        """Figures that move farther than those that are `near`. One of those that take long to make comes first, that
        which may move farthest if the others have many folds, or there are none; no others are looked at if it has many
        folds, and those as a tree of corridors for sure, and is worth it.
        """
        slow = [trial for trial in trials if trial.slow]
        found = self.ready(slow[:1] if near and near[0].folds <= MANY_FOLDS else slow[1:])
        sure = [one for one in found if not one.construction.has_loops]
        first = near or sure
        if not (first and first[0].folds >= _SOME_FOLDS and any(one.is_worth_moving(near) for one in sure)):
            found += self.ready([trial for trial in trials if not trial.slow])
        return found

    def ready(self, trials: Sequence[Trial]) -> list[Ready]:
        """The figures of trials that are new and have creases that end, the one to try first at the start."""
        found: list[Ready] = []
        for trial in () if self.is_over else trials:
            if trial in self.done:
                continue
            self.trials += 1
            self.progress(f"{counted(self.trials, 'way')} to move the figure looked at")
            slow = _SLOW if self.least else _ONLY
            with self.within(slow if trial.slow else _FIGURE, trial) as limits:
                self.clock()
                moved = trial.find()
                if moved.document in self.known:
                    continue
                steps = MANY_STEPS if trial.slow else MOST_STEPS
                before, endless = len(found), None
                for figure in figures_of(moved.document, limits):
                    try:
                        construction = Construction(figure, steps)
                        found.append(Ready(trial, moved, construction, costs(construction, limits.seconds)))
                    except Endless as end:
                        endless = end
                self.known.append(moved.document)
                more = found[before:]
                if endless is not None and not more:
                    raise endless
                if not moved.moves:
                    self.as_drawn = min(one.folds for one in more)
                if any(one.is_least for one in more):
                    break
        self.least = min([one.folds for one in found] + [self.least] * bool(self.least), default=0)
        return sorted(found, key=attrgetter("rank"))

    def made(self, ready: Sequence[Ready], aside: Sequence[Ready] = ()) -> Constructed | None:
        """The best pattern for some figures, certified; None if there is none. If others that were set `aside`, as they
        move farther, may have clearly fewer folds than it turns out to have, they are tried, too.
        """
        found: list[Found] = []
        folding: set[Hashable] = set()  # shapes: figures of one shape fold alike
        for number, one in enumerate(ready):
            # what is found with no more folds than the others can have needs no more looking
            spare = 1 if self.prefer == "folds" else _SPARE
            if self.is_over or any(spare * proposal.folds <= one.folds for proposal, _ in found):
                break
            if self.prefer == "folds" and one.construction.shape in folding:
                continue
            more = self.tried(one, _BETTER if found else _OTHER if number else _FIRST)
            if more:
                folding.add(one.construction.shape)
            found += more
        for one in aside if found and self.prefer == "folds" else ():
            most = _WORTH * min(proposal.folds for proposal, _ in found)
            if self.is_over or one.folds >= most:
                break
            found += [pair for pair in self.tried(one, _BETTER) if pair[0].folds < most]
        found.sort(key=lambda pair: rank(pair[0], self.prefer))
        if self.prefer == "folds":
            with self.until_stopped():
                found = self._simple_first(found)
        if self.stopped and not found:
            raise KeyboardInterrupt
        for proposal, one in found:
            left = self.whole.left
            limits = self.limits if left is None else replace(self.limits, seconds=max(left, 1.0))
            try:
                result = self.certified(proposal, limits)
            except Malformed:
                self.failures.append(Failure(proposal.how, _TOO_LONG))
                continue
            if result.verdict == "certified":
                moved, why = (one.moved, one.trial.why) if one.moved.moves else (None, "")
                made = replace(self._so_far(), verdict="certified", proposal=proposal, result=result)
                return replace(made, moved=moved, why=why, as_drawn=self.as_drawn, stopped=self.stopped)
            said = "; ".join(f.message for f in result.reasons)
            self.failures.append(Failure(proposal.how, f"{result.verdict}: {said}"))
        return None

    def _so_far(self) -> Constructed:
        """What is said of the search whatever comes of it."""
        failures = tuple(self.failures)
        return Constructed(self.document, "undecided", tried=self.count, failures=failures, folding=self.folding)

    def certified(self, proposal: Proposal, limits: Limits) -> Result:
        """What `certify` gives, begun once more if Ctrl-C ends it: that is to take the pattern, not to lose it."""
        with self.until_stopped():
            return certify_folded(proposal.document, proposal.order, limits, self.progress)
        return certify_folded(proposal.document, proposal.order, limits, self.progress)

    def _simple_first(self, found: list[Found]) -> list[Found]:
        """The same, but before all others one that simple folds make, if one of the first with fewest folds is such."""
        for proposal, one in found[:_SIMPLE]:
            if proposal.folds > found[0][0].folds:
                break
            self.progress("looking for simple folds")
            left = self.whole.left
            simple = by_simple_folds(proposal, Clock(left and left * _BETTER, UNFINISHED))
            if simple is not None:
                return [(simple, one), *found]
        return found

    def tried(self, one: Ready, share: float) -> list[Found]:
        """What came of a figure."""
        found: list[Found] = []
        with self.within(share, one.trial) as limits:
            self.clock()
            fewest = self.prefer == "folds"
            document, construction = one.moved.document, one.construction
            every = proposals(document, limits, self.progress, construction, only_fewest=fewest)
            last = self.wanted.tries
            for count, proposal in enumerate(islice(every, self.wanted.tries), 1):
                self.count += 1
                if isinstance(proposal, Failure):
                    self.failures.append(proposal)
                    for refusal in proposal.refusals:
                        self.against.update(construction.lines_of(refusal.taken))
                else:
                    self.folding += 1
                    found.append((proposal, one))
                    if proposal.tree and not proposal.fewest:
                        last = count + max(2 * (proposal.folds < _TWO_MORE), _MORE // proposal.folds**2)
                best = " (Ctrl-C takes the best)" if self.wanted.best_on_interrupt and found else ""
                self.progress(f"{count} tried, {len(found)} fold{best}")
                if fewest and count >= last:
                    break
        return found

    @property
    def lines(self) -> tuple[tuple[str, str], ...]:
        """The lines that have to do with the contradictions found, those with most of them first; if none were, those
        of the first figure whose perpendiculars do not end.
        """
        most = max(self.against.values(), default=0)
        contradicting = tuple(line for line, n in self.against.most_common() if 2 * n >= most)
        return contradicting or next((end.lines for end in self.ends if isinstance(end, Endless)), ())

    @property
    def blamed(self) -> tuple[tuple[str, str], ...]:
        """Some of these lines: first two strokes that are nearly equally wide."""
        pair = uneven(self.document, self.lines) or ()
        first = [line for stroke in pair for line in (stroke.one, stroke.other)]
        return tuple(dict.fromkeys((*first, *self.lines)))[:_BLAMED]

    def outcome(self) -> Constructed:
        """Why nothing was found, from all trials, and what may help."""
        alone = [str(end) for end in self.ends if isinstance(end, NotSnapped)]
        if self.ends and not (self.count or self.is_over) and len(alone) == len(self.ends):
            return replace(self._so_far(), verdict="unsupported", reason=alone[0], hint=_EXACT)
        lines = ", ".join(self.document.told_line(*line) for line in self.blamed)
        endless = [str(end) for end in self.ends if isinstance(end, Endless)]
        if self.is_over:
            reason = str(LimitReached("seconds", f"{self.limits.seconds:g}", UNFINISHED))
            run = "" if self.against else ", between which perpendiculars run without end"
            blame = f"; so far to blame are the lines {lines}{run}"
        elif self.failures:
            exhausted = {str(end) for end in self.ends if isinstance(end, Exhausted)}
            reason = "; ".join(sorted({f.reason for f in self.failures} | exhausted))
            if self.count:
                none = f"none of {self.count} sets of creases came to a"
                only = "the only set of creases tried came to no"
                reason = f"{none if self.count > 1 else only} certified pattern: {reason}"
            run = ", most of all by the lines" if self.against else "; many creases run to and fro between the lines"
            blame = f"{run} {lines}"
        else:
            others = [str(end) for end in self.ends if not isinstance(end, NotSnapped)]
            reason = (endless or others or alone)[0]
            blame = f"; they run back and forth, most of all between the lines {lines}"
        reason += blame if self.lines else ""
        if self.least:
            reason += f"; the first set of creases to try has about {self.least:,} folds"
        if self.trials > 1 and not self.is_over:
            reason += f" ({self.trials} ways to move the figure were tried)"
        more = self.is_over or any(failure.reason == IN_TIME for failure in self.failures)
        nudge = _NUDGE if self.wanted.nudge_mm is None else _NUDGE_MORE
        hints = (
            "--seconds gives more time" if more else "",
            "without --exact the figure may be moved" if self.wanted.exact else "" if self.is_over else nudge,
            helpful(self.document, self.lines),
            "fewer lines may need fewer folds" if self.least > MANY_FOLDS else "",
        )
        hint = "; ".join(filter(None, hints))
        return replace(self._so_far(), reason=reason, hint=hint, blamed=self.blamed)
