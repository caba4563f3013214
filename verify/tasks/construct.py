"""`construct`: a certified pattern for a target."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import islice
from operator import attrgetter
from pathlib import Path
from typing import Literal

from verify.construct.blame import helpful, uneven
from verify.construct.costs import MANY_FOLDS, Costs, costs
from verify.construct.creases import Construction, Endless, Exhausted
from verify.construct.figure import figure_of
from verify.construct.moves import Trial, trials
from verify.construct.net import NotSnapped
from verify.construct.perpendiculars import MANY_STEPS, MOST_STEPS
from verify.construct.propose import Failure, Proposal, by_simple_folds, proposals
from verify.construct.snapping import Snapped
from verify.exact.effort import ANY_WORK, EffortSpent, bounded
from verify.pattern.arrangement import subdivide
from verify.pattern.document import IN_MM, Document
from verify.pattern.drawing import draw
from verify.pattern.limits import Clock, LimitReached, Limits
from verify.pattern.recipe import load_any
from verify.pattern.source import Malformed
from verify.tasks.certify import Result, certify_folded
from verify.tasks.preferred import by_hands
from verify.tasks.recipe import lacking
from verify.words.findings import counted
from verify.words.hands_findings import SHORT_MM

Progress = Callable[[str], None]
Prefer = Literal["folds", "layers", "hands", "creases", "shortest", "gap", "panel", "fold", "accuracy"]
TRIES = 30
_SEARCHED = 0.8  # of the time; the rest is for the certificate
_FIGURE = 1 / 8  # of the time that is left: for one figure until its creases are known
_SLOW = 1 / 2  # for one that takes long to make
_SHORT = SHORT_MM[1]
# figures that move farther are looked at if the others need more folds than so many; and tried if they need fewer folds
# by that factor, or as few and no creases that are too short
_FEW_FOLDS = 30
_SOME_FOLDS = 100  # from here on not, if one whose perpendiculars were made to end, without loops, is worth it
_WORTH = 0.95
_FIRST, _OTHER = 1 / 2, 1 / 3  # for the figure with fewest folds, and for each of the others
_BETTER = 1 / 10  # for one that may have fewer folds than what was found
_SPARE = 2  # so many times as many folds are too many, whatever is preferred
# once a set folds as a tree, so many others are tried, divided by the square of its folds; two, if it has so few
_MORE, _TWO_MORE = 160_000, 1_500
_SIMPLE = 30  # of as few folds so many are looked at, whether simple folds make them
_LEAST = 0.001  # seconds
_BLAMED = 6  # lines
_UNFINISHED = "not all sets of creases were tried"
_TOO_LONG = "the pattern's numbers are too long to be written down"
_EXACT = "--exact keeps the lines where they are, in a number field"
_NUDGE = "--nudge MM allows to move the figure farther"
_NUDGE_MORE = "a larger --nudge allows to move the figure farther"


@dataclass(frozen=True)
class Constructed:
    """What came of constructing a pattern for the target of `document`.

    `verdict` is `certified` only if the kernel accepted a certificate for `pattern`; then `result` holds it.
    `pattern`'s target is that of the document, or, if `moved` is not None, one whose points were moved by at most
    `moved.greatest`, and `why` says what for; `as_drawn` is about how many folds it takes where it is, if that is
    known. `tried` crease sets were solved, `folding` of them have a layer order; `failures` say why others, and
    figures, came to nothing. With `stopped` an interrupt ended the search. Otherwise `reason` says why there is none,
    and `blamed` are the target lines to blame, by the names of their ends: those between which perpendiculars run
    without end, or else those by which run the perpendiculars that are most in what contradicts itself. It does not
    prove that no pattern exists (the theorem says that one does).
    """

    document: Document
    verdict: Literal["certified", "undecided", "unsupported"]
    reason: str = ""
    proposal: Proposal | None = None
    result: Result | None = None
    moved: Snapped | None = None
    tried: int = 0
    failures: tuple[Failure, ...] = ()
    hint: str = ""
    why: str = ""
    blamed: tuple[tuple[str, str], ...] = ()
    folding: int = 0
    as_drawn: int = 0
    stopped: bool = False

    @property
    def pattern(self) -> Document | None:
        return self.proposal.document if self.proposal is not None else None


def construct(
    document: Document | str | Path,
    *,
    tries: int = TRIES,
    prefer: Prefer = "folds",
    exact: bool = False,
    snap_mm: Fraction | None = None,
    nudge_mm: Fraction | None = None,
    limits: Limits = Limits(),
    progress: Progress | None = None,
    best_on_interrupt: bool = False,
) -> Constructed:
    """A crease pattern with which one straight cut frees exactly the target of a document (or the file of one),
    certified.

    The pattern is made of the straight skeleton of the target and perpendiculars. Of at most `tries` choices of
    perpendiculars the one with the fewest folds is taken: of as few one that simple folds make, if a short look finds
    such, then the one with the fewest layers at the cut. `prefer` puts something else first: `layers` at the cut,
    `hands` (fewest warnings of what hands meet, then fewest notes), fewest straight `creases`, the longest `shortest`
    crease, the widest `gap` between parallel creases, the largest smallest `panel`, the fewest layers in any one
    `fold`, or the creases that need least `accuracy`.

    Several figures near the drawing are tried (`construct.moves`), each with so many tries, that with fewest folds
    first (of as few one without creases too short for hands, then one that is not moved): the target where it is, if
    its numbers lie in a field of low degree; lines whose directions have no rational unit vector moved by at most
    `snap_mm` millimetres (0.1 if None); and the target made regular, as a whole or in parts, also if it is turned. If
    that comes to nothing, or other figures need clearly fewer folds, the target is moved farther, by at most `nudge_mm`
    (None: 1 % of its larger extent, or no farther than a given `snap_mm`). With `exact` it is only left where it is.
    All ends after `limits.seconds`; with `best_on_interrupt` also by Ctrl-C, if there is a pattern by then. Raises
    `Malformed`.
    """
    document = load_any(document).as_pattern()
    reason = lacking(document, "a pattern")
    if document.creases:
        reason = f"the document has {counted(len(document.creases), 'crease')}; expected a target and a sheet only"
    if reason:
        return Constructed(document, "unsupported", reason)
    subdivide(draw(replace(document, creases=()), limits), limits)  # a mistake in the drawing is one, and no failure
    search = _Search(document, tries, prefer, limits, progress, best_on_interrupt)
    near, farther = trials(replace(document, creases=()), snap_mm, nudge_mm, exact, limits)
    ready = search.ready(near)
    aside: list[_Ready] = []
    if not ready or ready[0].folds > _FEW_FOLDS:
        worth, aside = search.farther(farther, ready)
        ready = sorted([*ready, *worth], key=attrgetter("rank"))
    made = search.made(ready) or search.made(sorted([*aside, *search.ready([*near, *farther])], key=attrgetter("rank")))
    if made is not None:
        return made
    verdict, reason, hint = search.outcome(exact, nudge_mm)
    return Constructed(
        document,
        verdict,
        reason,
        tried=search.count,
        failures=tuple(search.failures),
        hint=hint,
        blamed=search.blamed,
        folding=search.folding,
    )


@dataclass(frozen=True)
class _Ready:
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
        """Whether it has creases too short for hands."""
        return self.costs.shortest * float(IN_MM[self.moved.document.unit]) < _SHORT

    @property
    def rank(self) -> tuple[float, ...]:
        """What is lowest for the figure to try first: few folds; of as few, no crease too short for hands; of these, no
        point moved; then few straight creases.
        """
        return self.folds, self.has_short_creases, bool(self.moved.moves), self.costs.creases

    @property
    def is_least(self) -> bool:
        """Whether no other need be looked at: it folds along arcs from corners alone, as all near it do."""
        corners = {*self.construction.figure.points}
        arcs = sum(end in corners for arc in self.construction.arcs for end in arc)
        return self.folds <= arcs and not (self.has_short_creases or self.moved.moves)

    def is_worth_moving(self, others: Sequence[_Ready]) -> bool:
        """Whether this figure, which moves farther, is to be tried before the first of others."""
        if not others or others[0].folds > MANY_FOLDS:
            return True
        longer = self.folds <= others[0].folds and others[0].has_short_creases and not self.has_short_creases
        return longer or self.folds < _WORTH * others[0].folds


@dataclass(frozen=True)
class _Found:
    proposal: Proposal
    moved: Snapped
    why: str


class _Search:
    """Trials one after the other, in the time that there is."""

    def __init__(
        self,
        document: Document,
        tries: int,
        prefer: Prefer,
        limits: Limits,
        progress: Progress | None,
        best_on_interrupt: bool,
    ) -> None:
        self.document, self.tries, self.prefer, self.limits, self.progress = document, tries, prefer, limits, progress
        self.whole = Clock(limits.seconds, _UNFINISHED)
        self.clock = Clock(None if limits.seconds is None else _SEARCHED * limits.seconds, _UNFINISHED)
        self.count = self.folding = self.trials = 0
        self.failures: list[Failure] = []
        self.ends: list[Exception] = []  # what each trial that found nothing came to
        self.known: list[Document] = []
        self.done: set[Trial] = set()  # but those that a limit ended
        self.as_drawn = 0  # folds of the figure that is not moved, once known
        self.least = 0  # folds of the figure that is likely to have fewest
        self.best_on_interrupt, self.stopped = best_on_interrupt, False
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
            self.ends.append(LimitReached("seconds", f"{self.limits.seconds:g}", _UNFINISHED))
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
            if self.stopped or not (self.best_on_interrupt and self.folding):
                raise
            self.clock.stop()
            self.stopped = True

    def farther(self, trials: Sequence[Trial], near: Sequence[_Ready]) -> tuple[list[_Ready], list[_Ready]]:
        """Figures that move farther than those that are `near`: some that are worth it, and some that are not. Of those
        that take long to make the one that may move farthest is looked at only if the others have many folds, or none.
        """
        slow = [trial for trial in trials if trial.slow]
        found = self.ready(slow[:1] if near and near[0].folds <= MANY_FOLDS else slow[1:])
        sure = [one for one in found if not one.construction.has_loops]
        first = near or sure
        if not (first and first[0].folds >= _SOME_FOLDS and any(one.is_worth_moving(near) for one in sure)):
            found += self.ready([trial for trial in trials if not trial.slow])
        worth = [one for one in found if one.is_worth_moving(near)]
        return worth, [one for one in found if one not in worth]

    def ready(self, trials: Sequence[Trial]) -> list[_Ready]:
        """The figures of trials that are new and have creases that end, the one to try first at the start."""
        found: list[_Ready] = []
        for trial in () if self.is_over else trials:
            if trial in self.done:
                continue
            self.trials += 1
            if self.progress:
                self.progress(f"{counted(self.trials, 'way')} to move the figure looked at")
            with self.within(_SLOW if trial.slow else _FIGURE, trial) as limits:
                self.clock()
                moved = trial.find()
                if moved.document in self.known:
                    continue
                try:
                    steps = MANY_STEPS if trial.slow else MOST_STEPS
                    construction = Construction(figure_of(moved.document, limits), limits, steps)
                    found.append(_Ready(trial, moved, construction, costs(construction, limits.seconds)))
                    self.known.append(moved.document)
                    self.as_drawn = self.as_drawn if moved.moves else found[-1].folds
                    if found[-1].is_least:
                        break
                except Endless:
                    self.known.append(moved.document)
                    raise
        self.least = min([one.folds for one in found] + [self.least] * bool(self.least), default=0)
        return sorted(found, key=attrgetter("rank"))

    def made(self, ready: Sequence[_Ready]) -> Constructed | None:
        """The best pattern for some figures, certified; None if there is none."""
        found: list[_Found] = []
        folding: set[Hashable] = set()  # shapes: figures of one shape fold alike
        for number, one in enumerate(ready):
            if self.is_over:
                break
            if self.prefer == "folds" and one.construction.shape in folding:
                continue
            share = _BETTER if found else _OTHER if number else _FIRST
            # what is found with no more folds than the others can have needs no more looking
            spare = 1 if self.prefer == "folds" else _SPARE
            if any(spare * f.proposal.folds <= one.folds for f in found):
                break
            more = self.tried(one, share)
            if more:
                folding.add(one.construction.shape)
            found += more
        found.sort(key=lambda f: _rank(f.proposal, self.prefer))
        if self.prefer == "folds":
            with self.until_stopped():
                found = self._simple_first(found)
        if self.stopped and not found:
            raise KeyboardInterrupt
        for best in found:
            left = self.whole.left
            limits = self.limits if left is None else replace(self.limits, seconds=max(left, 1.0))
            try:
                result = self.certified(best.proposal, limits)
            except Malformed:
                self.failures.append(Failure(best.proposal.how, _TOO_LONG))
                continue
            if result.verdict == "certified":
                moved = best.moved if best.moved.moves else None
                return Constructed(
                    self.document,
                    "certified",
                    proposal=best.proposal,
                    result=result,
                    moved=moved,
                    tried=self.count,
                    failures=tuple(self.failures),
                    why=best.why if moved is not None else "",
                    folding=self.folding,
                    as_drawn=self.as_drawn,
                    stopped=self.stopped,
                )
            said = "; ".join(f.message for f in result.reasons)
            self.failures.append(Failure(best.proposal.how, f"{result.verdict}: {said}"))
        return None

    def certified(self, proposal: Proposal, limits: Limits) -> Result:
        """What `certify` gives, begun once more if Ctrl-C ends it: that is to take the pattern, not to lose it."""
        with self.until_stopped():
            return certify_folded(proposal.document, proposal.order, limits, self.progress)
        return certify_folded(proposal.document, proposal.order, limits, self.progress)

    def _simple_first(self, found: list[_Found]) -> list[_Found]:
        """The same, but before all others one that simple folds make, if one of the first with fewest folds is such."""
        fewest = [one for one in found if one.proposal.folds == found[0].proposal.folds]
        for one in fewest[:_SIMPLE]:
            if self.progress:
                self.progress("simple folds are looked for")
            left = self.whole.left
            simple = by_simple_folds(one.proposal, Clock(left and left * _BETTER, _UNFINISHED))
            if simple is not None:
                return [replace(one, proposal=simple), *found]
        return found

    def tried(self, one: _Ready, share: float) -> list[_Found]:
        """What came of a figure."""
        found: list[_Found] = []
        with self.within(share, one.trial) as limits:
            self.clock()
            every = proposals(
                one.moved.document,
                limits,
                self.tries,
                self.progress,
                one.construction,
                only_fewest=self.prefer == "folds",
            )
            last = self.tries
            for count, proposal in enumerate(islice(every, self.tries), 1):
                self.count += 1
                if isinstance(proposal, Failure):
                    self.failures.append(proposal)
                    for refusal in proposal.refusals:
                        for line in one.construction.lines_of(refusal.taken):
                            self.against[line] += 1
                else:
                    self.folding += 1
                    found.append(_Found(proposal, one.moved, one.trial.why))
                    if proposal.tree and not proposal.fewest:
                        last = count + max(2 * (proposal.folds < _TWO_MORE), _MORE // proposal.folds**2)
                if self.progress:
                    best = " (Ctrl-C takes the best)" if self.best_on_interrupt and found else ""
                    self.progress(f"{count} tried, {len(found)} fold{best}")
                if self.prefer == "folds" and count >= last:
                    break
        return found

    @property
    def lines(self) -> tuple[tuple[str, str], ...]:
        """The lines of the first figure whose perpendiculars do not end, if that kept any set from being tried; else
        those that have to do with the contradictions found, those with most of them first.
        """
        endless = [] if self.failures else [e for e in self.ends if isinstance(e, Endless)]
        if endless:
            return endless[0].lines
        most = max(self.against.values(), default=0)
        return tuple(line for line, n in self.against.most_common() if 2 * n >= most)

    @property
    def blamed(self) -> tuple[tuple[str, str], ...]:
        """Some of these lines: first two strokes that are nearly equally wide."""
        pair = uneven(self.document, self.lines) or ()
        first = [line for stroke in pair for line in (stroke.one, stroke.other)]
        return tuple(dict.fromkeys((*first, *self.lines)))[:_BLAMED]

    def outcome(self, exact: bool, nudge_mm: Fraction | None) -> tuple[Literal["undecided", "unsupported"], str, str]:
        """Why nothing was found, from all trials: the verdict, the reason, and what may help."""
        of_kind = {kind: [e for e in self.ends if isinstance(e, kind)] for kind in (NotSnapped, Endless, Exhausted)}
        if self.ends and not (self.count or self.is_over) and len(of_kind[NotSnapped]) == len(self.ends):
            return "unsupported", str(self.ends[0]), _EXACT
        lines = ", ".join(self.document.told_line(*line) for line in self.blamed)
        hint = _NUDGE if nudge_mm is None else _NUDGE_MORE
        if exact:
            hint = "without --exact the figure may be moved"
        else:
            hint += helpful(self.document, self.lines)
        if self.is_over:
            over = str(LimitReached("seconds", f"{self.limits.seconds:g}", _UNFINISHED))
            if self.least:
                over += f"; the first set of creases to try, for one way to move the figure, has {self.least:,} folds"
            if self.lines:
                run = "" if self.failures else ", between which perpendiculars run without end"
                over += f"; so far to blame are the lines {lines}{run}"
            return "undecided", over, "--seconds gives more time" + helpful(self.document, self.lines)
        if self.failures:
            reasons = sorted({f.reason for f in self.failures} | {str(e) for e in of_kind[Exhausted]})
            reason = "; ".join(reasons)
            if self.count:
                reason = f"none of {counted(self.count, 'set')} of creases came to a certified pattern: {reason}"
            if self.against:
                reason += f", most of all by the lines {lines}"
        else:
            others = [e for e in self.ends if not isinstance(e, NotSnapped)]
            reason = str((of_kind[Endless] or others or self.ends)[0])
            if of_kind[Endless]:
                reason += f"; they run back and forth, most of all between the lines {lines}"
        if self.trials > 1:
            reason += f" ({self.trials} ways to move the figure were tried)"
        return "undecided", reason, hint


def _rank(proposal: Proposal, prefer: Prefer) -> tuple[float, ...]:
    """What is lowest for the best proposal."""
    alike = float(proposal.folds), float(proposal.layers)
    if prefer == "folds":
        return alike
    return (alike[1], *alike) if prefer == "layers" else (*by_hands(proposal.hands, prefer), *alike)
