"""The one entry: given a document and a certificate, is the statement of the document proved or refuted?"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from .cut import check_cut
from .expression import Evaluator
from .folded import Table, read_fold
from .numbers import read_field
from .order import check_order
from .reading import CERTIFICATE, Malformed, Rejected, Work, quoted, require, tree
from .recipe import Paper, Recipe, check_off, read_document
from .refutation import check_apart, check_closure, check_maekawa, check_no_order, check_stray
from .statement import BYTES, Statement, places
from .subdivision import read_subdivision

FORMAT = "creaseproof-certificate/1"
CERTIFICATE_BYTES = 64 << 20
Checks = dict[str, Callable[..., str]]
KINDS = {  # of refutations: the keys of each, required and optional, and what it refutes
    "closure": (("walk", "edges"), (), "pattern"),  # no fold map exists
    "maekawa": (("vertex",), (), "pattern"),  # no layer order exists around a vertex
    "order": (("reasons", "steps"), (), "pattern"),  # no layer order exists
    "apart": (("edges",), (), "both"),  # so few snips cannot free the target
    "stray": (("cell",), ("edge",), "both"),  # whatever frees the target cuts something else too
    "step": (("why",), ("faces",), "recipe"),  # a step cannot be done as it is said
    "off": (("edge",), (), "recipe"),  # the cut that the document draws misses a line of the target
}
FLAT: Checks = {"closure": check_closure, "maekawa": check_maekawa}
FOLDED: Checks = {"order": check_no_order, "apart": check_apart, "stray": check_stray, "off": check_off}


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
        return decide(statement, recipe, certificate, outcome)
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


def decide(statement: Statement, recipe: Recipe | None, data: bytes, undecided: Outcome) -> Outcome:
    """The whole check, from the statement and the bytes of the certificate."""
    root = tree(data, CERTIFICATE_BYTES, "certificate.unreadable", int)
    if not isinstance(root, dict) or root.get("format") != FORMAT:
        raise Malformed("certificate.format", f"certificate: expected an object with format {quoted(FORMAT)}")
    proves = CERTIFICATE.text(root.get("proves"), "proves", ("certified", "refuted"))
    kind, refutation, found = "", {}, root.get("refutation")
    if proves == "refuted":
        kinds = [key for key, (*_, of) in KINDS.items() if of != ("recipe" if recipe is None else "pattern")]
        kind = CERTIFICATE.text(found.get("kind") if isinstance(found, dict) else None, "refutation.kind", kinds)
        refutation = CERTIFICATE.table(found, "refutation", ("kind", *KINDS[kind][0]), KINDS[kind][1])
    present = {
        "steps": recipe is not None,
        "fold": recipe is None and kind not in FLAT,
        "order": recipe is None and not kind,
        "cut": (not kind and statement.snips > 1) or (recipe is not None and recipe.along and kind != "step"),
        "refutation": kind != "",
    }
    always = ("format", "proves", "statement_sha256", "field", "vertices", "faces", "chains")
    CERTIFICATE.table(root, "certificate", [*always, *(key for key, holds in present.items() if holds)])
    require(root["statement_sha256"] == statement.digest, "digest", "statement_sha256: is of another statement")

    number_field, proposed = read_field(root["field"], Work(len(data)))
    at = places(statement, Evaluator(number_field, proposed))
    sub = read_subdivision(root, statement, at, number_field)
    reached = list[str]()  # the claims that are proved, or the one that is refuted
    table, order, along = None, root.get("order"), None
    if recipe is not None:
        paper = Paper(number_field, sub, at)
        table, along = paper.follow(recipe, root, refutation)
        sub, order, reached = paper.sub, {"stack": paper.now.stack, "except": []}, paper.refuted
    elif "fold" in root:
        table = Table(number_field, sub, read_fold(root["fold"], sub, number_field))
    facts = {"faces": len(sub.faces), "folds": sum(map(sub.is_fold, range(len(sub.edges))))}
    if kind in FLAT:
        reached = [FLAT[kind](refutation, sub, number_field)]
    elif table is not None and kind:
        reached = [FOLDED[kind](refutation, table, statement.snips, along)]
    elif table is not None:
        reached = [check_order(order, table)]
        if statement.snips:
            claim, more = check_cut(root.get("cut"), table, statement.snips, along)
            reached, facts = [*reached, claim], facts | more
    goal = [claim for claim in statement.claims if not kind or claim in reached]
    require(bool(reached) and reached == goal, "goal", f"the certificate does not decide {statement.claims}")
    return replace(undecided, accepted=True, proves=proves, kind=kind or None, claims=statement.claims, facts=facts)
