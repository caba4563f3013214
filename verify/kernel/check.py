"""The one entry: given a document and a certificate, is the statement of the document proved or refuted?"""

from dataclasses import dataclass, field, replace
from os import PathLike

from .cut import check_cut
from .expression import Evaluator
from .fold import read_fold
from .numbers import read_field
from .order import check_order
from .reading import CERTIFICATE, Malformed, Rejected, parse_json, quoted, require
from .recipe import Paper, Recipe, check_off, read_document
from .refutation import check_apart, check_closure, check_maekawa, check_no_order, check_stray
from .statement import BYTES, Statement, places
from .subdivision import BORDER, Subdivision, read_subdivision
from .table import Table

FORMAT = "creaseproof-certificate/1"
CERTIFICATE_BYTES = 64 << 20
KINDS = {  # of refutations, with the keys of each, required and optional
    "closure": (("walk",), ("edges",)),
    "maekawa": (("vertex",), ()),
    "order": (("reasons", "steps"), ()),
    "apart": (("edges",), ()),
    "stray": (("cell",), ("edge",)),
    "step": (("why",), ("faces",)),
    "off": (("edge",), ()),
}
OF_RECIPES, OF_BOTH = ("step", "off"), ("apart", "stray")


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
    except Exception as error:
        return replace(outcome, code="internal", reason=f"unforeseen {type(error).__name__}")


def check_files(document: str | PathLike[str], certificate: str | PathLike[str]) -> Outcome:
    """The same for files; a document whose name ends in .toml is TOML, any other JSON."""
    try:
        with open(document, "rb") as first, open(certificate, "rb") as second:
            contents = first.read(BYTES + 1), second.read(CERTIFICATE_BYTES + 1)
    except (OSError, ValueError) as error:
        return Outcome(malformed=True, code="unreadable", reason=f"{type(error).__name__}: {str(error)[:200]!a}")
    return check_bytes(*contents, toml=str(document).lower().endswith(".toml"))


def decide(statement: Statement, recipe: Recipe | None, data: bytes, undecided: Outcome) -> Outcome:
    """The whole check, from the statement and the bytes of the certificate."""
    root = parse_json(data, CERTIFICATE_BYTES, "certificate.unreadable", parse_float=odd, parse_constant=odd)
    if not isinstance(root, dict) or root.get("format") != FORMAT:
        raise Malformed("certificate.format", f"certificate: expected an object with format {quoted(FORMAT)}")
    proves = CERTIFICATE.text(root.get("proves"), "proves", ("certified", "refuted"))
    snips, kind, refutation = statement.snips, None, {}
    keys = ["format", "proves", "statement_sha256", "field", "vertices", "faces", "chains"]
    kinds = {key: k for key, k in KINDS.items() if key in OF_BOTH or (key in OF_RECIPES) == (recipe is not None)}
    if proves == "refuted":
        found = root.get("refutation")
        kind = CERTIFICATE.text(found.get("kind") if isinstance(found, dict) else None, "refutation.kind", kinds)
        refutation = CERTIFICATE.table(found, "refutation", ("kind", *kinds[kind][0]), kinds[kind][1])
        keys += ["refutation"] if kind in ("closure", "maekawa") else ["refutation", "fold"]
    else:
        keys += ["fold", "order"] if snips is None or snips == 1 else ["fold", "order", "cut"]
    if recipe is not None:
        cut = ["cut"] * (recipe.along is not None and kind != "step")
        keys = [*({*keys} - {"fold", "order"}), "steps", *cut]
    CERTIFICATE.table(root, "certificate", keys)
    require(root["statement_sha256"] == statement.digest, "digest", "statement_sha256: is of another statement")

    number_field, proposed = read_field(root["field"])
    at = places(statement, Evaluator(number_field, proposed))
    sub = read_subdivision(root, statement, at, number_field)
    facts, reached = counts(sub), list[str]()  # the claims that are proved, or the one that is refuted
    table, order, along = None, root.get("order"), None
    if recipe is not None:
        paper = Paper(number_field, sub, at)
        table, along = paper.follow(recipe, root, refutation)
        order, facts = {"stack": paper.now.stack, "except": []}, counts(paper.sub) | {"steps": len(recipe.steps)}
    elif "fold" in root:
        table = Table(number_field, sub, read_fold(root["fold"], sub, number_field))
    if recipe is not None and kind == "step":
        reached = paper.refuted
    elif kind == "off" and table is not None and along is not None:
        reached = [check_off(refutation, table, along)]
    elif kind == "closure":
        reached = [check_closure(refutation, sub, number_field)]
    elif kind == "maekawa":
        reached = [check_maekawa(refutation, sub)]
    elif kind == "order" and table is not None:
        reached = [check_no_order(refutation, table)]
    elif kind == "apart" and table is not None and snips is not None:
        reached = [check_apart(refutation, table, snips)]
    elif kind == "stray" and table is not None and snips is not None:
        reached = [check_stray(refutation, table, snips, along)]
    elif proves == "certified" and table is not None:
        claim, more = check_order(order, table)
        reached, facts = [claim], facts | more
        if snips is not None:
            claim, more = check_cut(root.get("cut"), table, snips, along)
            reached, facts = [*reached, claim], facts | more
    goal = [c for c in statement.claims if kind is None or c in reached]
    require(bool(reached) and reached == goal, "goal", f"the certificate does not decide {statement.claims}")
    return replace(undecided, accepted=True, proves=proves, kind=kind, claims=statement.claims, facts=facts)


def odd(text: str) -> object:
    raise Malformed("certificate.unreadable", f"{text[:40]} is not an integer")


def counts(sub: Subdivision) -> dict[str, int]:
    """For reports; nothing depends on them. Pieces are the components of faces across edges that are not target."""
    piece = list(range(len(sub.faces)))
    for e, (f, g) in enumerate(sub.beside):
        if g != BORDER and e not in sub.target and piece[f] != piece[g]:
            old, new = piece[g], piece[f]
            piece = [new if p == old else p for p in piece]
    things = {"faces": len(sub.faces), "vertices": len(sub.vertices), "pieces": len({*piece})}
    return things | {"folds": sum(map(sub.is_fold, range(len(sub.edges)))), "flat": sub.kind.count("flat")}
