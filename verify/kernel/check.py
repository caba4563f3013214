"""The one entry: given a document and a certificate, is the statement of the document proved or refuted?"""

from dataclasses import dataclass, field, replace

from .cut import Cut, check_cut
from .expression import Evaluator
from .folded import read_fold
from .numbers import read_field
from .order import check_order
from .paper import Paper, check_step, follow
from .reading import CERTIFICATE, Json, Malformed, Rejected, Work, quoted, require, tree
from .refutation import check_apart, check_closure, check_maekawa, check_no_order, check_off, check_stray
from .statement import BYTES, Statement, places, read_document
from .subdivision import Subdivision, read_subdivision
from .table import Table

FORMAT = "creaseproof-certificate/1"
CERTIFICATE_BYTES = 64 << 20
KEYS = ("format", "proves", "statement_sha256", "field", "vertices", "faces", "chains")  # of every certificate
# Refutations: of how the sheet is to fold, of the folded sheet, and all that there are of patterns and of recipes.
OF_SHEET = {"closure": check_closure, "maekawa": check_maekawa, "step": check_step}
OF_FOLDED = {"order": check_no_order, "apart": check_apart, "stray": check_stray, "off": check_off}
OF_PATTERNS = ("closure", "maekawa", "order", "apart", "stray")
OF_RECIPES = ("step", "apart", "stray", "off")


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
        statement = read_document(document, toml)
        outcome = replace(outcome, statement_sha256=statement.digest)
        return decide(statement, certificate, Work(len(document), len(certificate)), outcome)
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
    except OSError as error:
        reason = f"cannot read {str(error.filename)!a}: {error.strerror}"
        return Outcome(malformed=True, code="unreadable", reason=reason)
    except ValueError:
        return Outcome(malformed=True, code="unreadable", reason="a file has a name that no file can have")
    return check_bytes(*contents, toml=str(document).lower().endswith(".toml"))


def decide(statement: Statement, data: bytes, work: Work, undecided: Outcome) -> Outcome:
    """The whole check, from the statement and the bytes of the certificate."""
    root = tree(data, CERTIFICATE_BYTES, "certificate.unreadable", int)
    if not isinstance(root, dict) or root.get("format") != FORMAT:
        raise Malformed("certificate.format", f"certificate: expected an object with format {quoted(FORMAT)}")
    proves = CERTIFICATE.text(root.get("proves"), "proves", ("certified", "refuted"))
    kind = None if proves == "certified" else read_kind(root, statement)
    CERTIFICATE.table(root, "certificate", keys_of(kind, statement))
    require(root["statement_sha256"] == statement.digest, "digest", "statement_sha256: is of another statement")
    numbers, proposed = read_field(root["field"], work)
    at = places(statement, Evaluator(numbers, proposed))
    paper = Paper(numbers, read_subdivision(root, statement, at, numbers), at, statement.steps)
    facts = check_claims(kind, root, statement, paper)
    return replace(undecided, accepted=True, proves=proves, kind=kind, claims=statement.claims, facts=facts)


def read_kind(root: Json, statement: Statement) -> str:
    """The kind of a refutation."""
    refutation = CERTIFICATE.table(root.get("refutation"), "refutation", ("kind",), None)
    return CERTIFICATE.text(refutation["kind"], "refutation.kind", OF_RECIPES if statement.steps else OF_PATTERNS)


def keys_of(kind: str | None, statement: Statement) -> list[str]:
    """The keys that the certificate has."""
    is_recipe = len(statement.steps) > 0
    names_line = statement.along is not None and statement.snips > 0 and kind != "step"
    present = {
        "steps": is_recipe,
        "fold": not is_recipe and kind not in OF_SHEET,
        "order": not is_recipe and kind is None,
        "cut": names_line or (kind is None and statement.snips > 1),
        "refutation": kind is not None,
    }
    return [*KEYS, *[key for key, holds in present.items() if holds]]


def check_claims(kind: str | None, root: Json, statement: Statement, paper: Paper) -> dict[str, int]:
    """Assumes (and checks) that all claims hold; of a refutation, that one of them does not. Returns counts."""
    if kind in OF_SHEET:
        OF_SHEET[kind](root, paper)
        return counts(paper.sub)
    if statement.steps:
        order, cut = follow(paper, statement, root)
    else:
        table = Table(paper.field, paper.sub, read_fold(root["fold"], paper.sub, paper.field))
        order, cut = root.get("order"), Cut(table, statement.snips, None)
    if kind is not None:
        OF_FOLDED[kind](root["refutation"], cut)
        return counts(cut.table.sub)
    check_order(order, cut.table)
    return counts(cut.table.sub) | (check_cut(root.get("cut"), cut) if cut.snips else {})


def counts(sub: Subdivision) -> dict[str, int]:
    return {"faces": len(sub.faces), "folds": sum(map(sub.is_fold, range(len(sub.edges))))}
