"""The one entry: given a document and a certificate, is the statement of the document proved or refuted?"""

from dataclasses import dataclass, field, replace
from typing import NamedTuple

from .cut import check_cut
from .expression import Evaluator
from .folded import read_fold
from .numbers import Field, read_field
from .order import check_order
from .paper import Paper, check_step, follow
from .reading import CERTIFICATE, Malformed, Rejected, Work, quoted, require, tree
from .recipe import Json, Recipe, read_document
from .refutation import check_apart, check_closure, check_maekawa, check_no_order, check_off, check_stray
from .statement import BYTES, Statement, places
from .subdivision import Subdivision, read_subdivision
from .table import Table

FORMAT = "creaseproof-certificate/1"
CERTIFICATE_BYTES = 64 << 20


FLAT = ("closure", "maekawa")  # refutations of the flat sheet alone: no fold map, no order around a vertex
OF_PATTERNS = (*FLAT, "order", "apart", "stray")  # no order; too few snips; whatever frees the target cuts more
OF_RECIPES = ("step", "apart", "stray", "off")  # a step that cannot be done; a drawn cut that misses the target


@dataclass(frozen=True)
class Outcome:
    """What the kernel found. Only `accepted` says that anything is proved: the goal was reached."""

    accepted: bool = False
    malformed: bool = False
    proves: str | None = None  # "certified" or "refuted", only when accepted
    kind: str | None = None  # of a refutation, only when accepted
    statement_sha256: str | None = None
    claims: tuple[str, ...] = ()  # of the statement; certified: all hold, refuted: not all can hold
    reason: str = ""
    code: str = ""
    facts: dict[str, int] = field(default_factory=dict)


def check_bytes(document: bytes, certificate: bytes, *, toml: bool) -> Outcome:
    """Decides; never raises. A bug of the kernel's own ends in the code "internal", which is not a verdict."""
    outcome = Outcome()
    try:
        statement, recipe = read_document(document, toml)
        outcome = replace(outcome, statement_sha256=statement.digest)
        return decide(statement, recipe, certificate, Work(len(document), len(certificate)), outcome)
    except Rejected as fault:
        return replace(outcome, malformed=isinstance(fault, Malformed), code=fault.code, reason=fault.reason)
    except MemoryError:
        return replace(outcome, code="limit", reason="more memory than there is")
    except Exception as error:
        return replace(outcome, code="internal", reason=f"unforeseen {type(error).__name__}")


def check_files(document: str, certificate: str) -> Outcome:
    """The same for files; a document whose name ends in .toml is TOML, any other JSON."""
    try:
        with open(document, "rb") as first, open(certificate, "rb") as second:
            contents = first.read(BYTES + 1), second.read(CERTIFICATE_BYTES + 1)
    except (OSError, ValueError) as error:
        return Outcome(malformed=True, code="unreadable", reason=f"{type(error).__name__}: {str(error)[:200]!a}")
    return check_bytes(*contents, toml=str(document).lower().endswith(".toml"))


class Goal(NamedTuple):
    """What a certificate says that it proves."""

    proves: str  # "certified" or "refuted"
    kind: str  # of a refutation, else empty
    refutation: Json


class Found(NamedTuple):
    """What was proved: the claims that hold, or the one that is refuted; and counts."""

    claims: tuple[str, ...]
    facts: dict[str, int]


def decide(statement: Statement, recipe: Recipe | None, data: bytes, work: Work, undecided: Outcome) -> Outcome:
    """The whole check, from the statement and the bytes of the certificate."""
    root = tree(data, CERTIFICATE_BYTES, "certificate.unreadable", int)
    if not isinstance(root, dict) or root.get("format") != FORMAT:
        raise Malformed("certificate.format", f"certificate: expected an object with format {quoted(FORMAT)}")
    goal = read_goal(root, recipe)
    CERTIFICATE.table(root, "certificate", keys_of(goal, statement, recipe))
    require(root["statement_sha256"] == statement.digest, "digest", "statement_sha256: is of another statement")
    number_field, proposed = read_field(root["field"], work)
    at = places(statement, Evaluator(number_field, proposed))
    sub = read_subdivision(root, statement, at, number_field)
    if recipe is None:
        found = of_pattern(goal, root, sub, number_field, statement)
    else:
        found = of_recipe(goal, root, Paper(number_field, sub, at), recipe, statement)
    reached = found.claims == statement.claims if goal.proves == "certified" else {*found.claims} <= {*statement.claims}
    require(reached, "goal", f"the certificate does not decide {statement.claims}")
    kind = goal.kind or None
    return replace(undecided, accepted=True, proves=goal.proves, kind=kind, claims=statement.claims, facts=found.facts)


def read_goal(root: Json, recipe: Recipe | None) -> Goal:
    proves = CERTIFICATE.text(root.get("proves"), "proves", ("certified", "refuted"))
    if proves == "certified":
        return Goal(proves, "", {})
    refutation = CERTIFICATE.table(root.get("refutation"), "refutation", ("kind",), None)
    kinds = OF_PATTERNS if recipe is None else OF_RECIPES
    return Goal(proves, CERTIFICATE.text(refutation["kind"], "refutation.kind", kinds), refutation)


def keys_of(goal: Goal, statement: Statement, recipe: Recipe | None) -> list[str]:
    """The keys that the certificate has."""
    keys = ["format", "proves", "statement_sha256", "field", "vertices", "faces", "chains"]
    certified = goal.proves == "certified"
    if recipe is not None:
        keys.append("steps")
    elif goal.kind not in FLAT:
        keys.append("fold")
    if certified and recipe is None:
        keys.append("order")
    names_line = recipe is not None and recipe.along is not None and goal.kind != "step"
    if names_line or (certified and statement.snips > 1):
        keys.append("cut")
    if not certified:
        keys.append("refutation")
    return keys


def counts(sub: Subdivision) -> dict[str, int]:
    return {"faces": len(sub.faces), "folds": sum(sub.is_fold(e) for e in range(len(sub.edges)))}


def of_pattern(goal: Goal, root: Json, sub: Subdivision, number_field: Field, statement: Statement) -> Found:
    if goal.kind == "closure":
        return Found((check_closure(goal.refutation, sub, number_field),), counts(sub))
    if goal.kind == "maekawa":
        return Found((check_maekawa(goal.refutation, sub),), counts(sub))
    table = Table(number_field, sub, read_fold(root["fold"], sub, number_field))
    if goal.kind == "order":
        return Found((check_no_order(goal.refutation, table),), counts(sub))
    return of_folded(goal, root, root.get("order"), table, statement, None)


def of_recipe(goal: Goal, root: Json, paper: Paper, recipe: Recipe, statement: Statement) -> Found:
    if goal.kind == "step":
        return Found((check_step(paper, recipe, root, goal.refutation),), counts(paper.sub))
    folded = follow(paper, recipe, root)
    order = {"stack": folded.stack, "except": []}
    return of_folded(goal, root, order, folded.table, statement, folded.along)


def of_folded(goal: Goal, root: Json, order: object, table: Table, statement: Statement, along: int | None) -> Found:
    """What the folded sheet shows; `along` is the line of the cut, if the document names one."""
    facts = counts(table.sub)
    if goal.kind == "apart":
        return Found((check_apart(goal.refutation, table, statement.snips),), facts)
    if goal.kind == "stray":
        return Found((check_stray(goal.refutation, table, statement.snips, along),), facts)
    if goal.kind == "off":
        return Found((check_off(goal.refutation, table, along),), facts)
    flat = check_order(order, table)
    if not statement.snips:
        return Found((flat,), facts)
    exact, more = check_cut(root.get("cut"), table, statement.snips, along)
    return Found((flat, exact), facts | more)
