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
from verify.construct.propose import IN_TIME, Failure, Proposal, by_simple_folds, proposals
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
        found = search.farther(farther, ready)
        worth = [one for one in found if one.is_worth_moving(ready)]
        aside = [one for one in found if one not in worth]
        ready = sorted([*ready, *worth], key=attrgetter("rank"))
    return (
        search.made(ready)
        or search.made(aside)
        or search.made(search.ready([*near, *farther]))
        or search.outcome(exact, nudge_mm)
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
        point moved; then few straight pieces.
        """
        return self.folds, self.has_short_creases, bool(self.moved.moves), self.costs.pieces

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


_Found = tuple[Proposal, _Ready]


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

    def farther(self, trials: Sequence[Trial], near: Sequence[_Ready]) -> list[_Ready]:
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
        found.sort(key=lambda pair: _rank(pair[0], self.prefer))
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

    def _simple_first(self, found: list[_Found]) -> list[_Found]:
        """The same, but before all others one that simple folds make, if one of the first with fewest folds is such."""
        for proposal, one in found[:_SIMPLE]:
            if proposal.folds > found[0][0].folds:
                break
            if self.progress:
                self.progress("simple folds are looked for")
            left = self.whole.left
            simple = by_simple_folds(proposal, Clock(left and left * _BETTER, _UNFINISHED))
            if simple is not None:
                return [(simple, one), *found]
        return found

    def tried(self, one: _Ready, share: float) -> list[_Found]:
        """What came of a figure."""
        found: list[_Found] = []
        with self.within(share, one.trial) as limits:
            self.clock()
            fewest = self.prefer == "folds"
            document, construction = one.moved.document, one.construction
            every = proposals(document, limits, self.progress, construction, only_fewest=fewest)
            last = self.tries
            for count, proposal in enumerate(islice(every, self.tries), 1):
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
                if self.progress:
                    best = " (Ctrl-C takes the best)" if self.best_on_interrupt and found else ""
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

    def outcome(self, exact: bool, nudge_mm: Fraction | None) -> Constructed:
        """Why nothing was found, from all trials, and what may help."""
        alone = [str(end) for end in self.ends if isinstance(end, NotSnapped)]
        if self.ends and not (self.count or self.is_over) and len(alone) == len(self.ends):
            return replace(self._so_far(), verdict="unsupported", reason=alone[0], hint=_EXACT)
        lines = ", ".join(self.document.told_line(*line) for line in self.blamed)
        endless = [str(end) for end in self.ends if isinstance(end, Endless)]
        if self.is_over:
            reason = str(LimitReached("seconds", f"{self.limits.seconds:g}", _UNFINISHED))
            run = "" if self.against else ", between which perpendiculars run without end"
            blame = f"; so far to blame are the lines {lines}{run}"
        elif self.failures:
            exhausted = {str(end) for end in self.ends if isinstance(end, Exhausted)}
            reason = "; ".join(sorted({f.reason for f in self.failures} | exhausted))
            if self.count:
                none = f"none of {self.count} sets of creases came to a"
                only = "the only set of creases that was tried came to no"
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
        nudge = _NUDGE if nudge_mm is None else _NUDGE_MORE
        hints = (
            "--seconds gives more time" if more else "",
            "without --exact the figure may be moved" if exact else "" if self.is_over else nudge,
            helpful(self.document, self.lines),
            "fewer lines may need fewer folds" if self.least > MANY_FOLDS else "",
        )
        hint = "; ".join(filter(None, hints))
        return replace(self._so_far(), reason=reason, hint=hint, blamed=self.blamed)


def _rank(proposal: Proposal, prefer: Prefer) -> tuple[float, ...]:
    """What is lowest for the best proposal."""
    alike = float(proposal.folds), float(proposal.layers)
    if prefer == "folds":
        return alike
    return (alike[1], *alike) if prefer == "layers" else (*by_hands(proposal.hands, prefer), *alike)
