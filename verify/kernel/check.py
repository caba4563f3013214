"""The one entry: given a document and a certificate, is the statement of the document proved or refuted?"""

from __future__ import annotations

from dataclasses import dataclass, field
from os import PathLike

from .cut import check_cut
from .expression import Evaluator
from .fold import read_fold
from .numbers import read_field
from .order import check_order
from .reading import CERTIFICATE, Malformed, Rejected, parse_json, quoted
from .refutation import KEYS, WITHOUT_FOLD, refuted_claim
from .statement import BYTES, Statement, places, read_statement
from .subdivision import BORDER, Subdivision, read_subdivision
from .table import Table

FORMAT = "creaseproof-certificate/1"
CERTIFICATE_BYTES = 64 << 20
PROVES = ("certified", "refuted")


@dataclass(frozen=True)
class Outcome:
    """What the kernel found. Only `accepted` says that anything is proved; it is true only when the goal was reached."""

    accepted: bool = False
    malformed: bool = False
    proves: str | None = None  # "certified" or "refuted", only when accepted
    kind: str | None = None  # of a refutation, only when accepted
    statement_sha256: str | None = None
    claims: tuple[str, ...] = ()  # of the statement; certified: all are proved, refuted: not all can hold
    reason: str = ""
    code: str = ""
    facts: dict[str, int] = field(default_factory=dict)


def check_bytes(document: bytes, certificate: bytes, *, toml: bool) -> Outcome:
    """Decides; never raises. A bug of the kernel's own ends in the code "internal", which is not a verdict."""
    statement: Statement | None = None
    try:
        statement = read_statement(document, toml)
        return decide(statement, certificate)
    except Rejected as fault:
        return not_accepted(statement, isinstance(fault, Malformed), fault.code, fault.reason)
    except Exception as error:  # noqa: BLE001
        return not_accepted(statement, False, "internal", f"unforeseen {type(error).__name__}")


def check_files(document: str | PathLike[str], certificate: str | PathLike[str]) -> Outcome:
    """The same for files; a document whose name ends in .toml is TOML, any other JSON."""
    contents = []
    for path, limit in ((document, BYTES), (certificate, CERTIFICATE_BYTES)):
        try:
            with open(path, "rb") as stream:
                contents.append(stream.read(limit + 1))
        except (OSError, ValueError) as error:
            return not_accepted(None, True, "unreadable", f"{str(path)!a}: {type(error).__name__}")
    return check_bytes(contents[0], contents[1], toml=str(document).endswith(".toml"))


def not_accepted(statement: Statement | None, malformed: bool, code: str, reason: str) -> Outcome:
    known = None if statement is None else statement.digest
    return Outcome(malformed=malformed, statement_sha256=known, code=code, reason=reason)


def decide(statement: Statement, data: bytes) -> Outcome:
    """The whole check, from the statement and the bytes of the certificate."""
    root = parse_json(data, CERTIFICATE_BYTES, "certificate.unreadable",
                      parse_float=no_decimal, parse_constant=no_decimal)
    if not isinstance(root, dict) or root.get("format") != FORMAT:
        raise Malformed("certificate.format", f"certificate: expected an object with format {quoted(FORMAT)}")
    proves = root.get("proves")
    if proves not in PROVES:
        raise CERTIFICATE.fail("type", "proves", 'expected "certified" or "refuted"')
    kind = None
    refutation: dict[str, object] = {}
    required = ["format", "proves", "statement_sha256", "field", "vertices", "faces", "chains"]
    if proves == "refuted":
        required.append("refutation")
        named = root.get("refutation")
        kind = named.get("kind") if isinstance(named, dict) else None
        if not isinstance(kind, str) or kind not in KEYS:
            raise CERTIFICATE.fail("type", "refutation.kind", f"expected one of {', '.join(KEYS)}")
        needed, optional = KEYS[kind]
        refutation = CERTIFICATE.table(named, "refutation", ("kind", *needed), optional)
    else:
        required.append("order")
        if statement.snips is not None and statement.snips > 1:
            required.append("cut")
    if kind not in WITHOUT_FOLD:
        required.append("fold")
    CERTIFICATE.table(root, "certificate", required)
    if root["statement_sha256"] != statement.digest:
        raise Rejected("digest", "statement_sha256: the certificate is for another statement")

    number_field, proposed = read_field(root["field"])
    at = places(statement, Evaluator(number_field, proposed))
    sub = read_subdivision(root, statement, at, number_field)
    facts = facts_of(sub)
    fold = read_fold(root["fold"], sub, number_field) if "fold" in root else None
    if proves == "refuted" and kind is not None:
        refuted = refuted_claim(refutation, kind, statement, sub, number_field, fold)
        if refuted in statement.claims:
            return Outcome(True, False, "refuted", kind, statement.digest, statement.claims, "", "", facts)
    elif proves == "certified" and fold is not None:
        table = Table(number_field, sub, fold)
        order, claim = check_order(root["order"], table)
        proved = [claim]
        facts["overlaps"] = sum(table.overlaps(f).bit_count() for f in range(len(sub.faces))) // 2
        facts["exceptions"] = len(order.exceptions)
        if statement.snips is not None:
            more, claim = check_cut(root.get("cut"), table, statement)
            facts.update(more)
            proved.append(claim)
        if tuple(proved) == statement.claims:
            return Outcome(True, False, "certified", None, statement.digest, statement.claims, "", "", facts)
    raise Rejected("goal", "the goal was not reached")


def no_decimal(text: str) -> object:
    raise Malformed("certificate.unreadable", f"{text[:40]} is not an integer")


def facts_of(sub: Subdivision) -> dict[str, int]:
    """Counts, for reports; nothing depends on them."""
    parent = list(range(len(sub.faces)))

    def root(f: int) -> int:
        while parent[f] != f:
            parent[f] = parent[parent[f]]
            f = parent[f]
        return f

    for e, (f, g) in enumerate(sub.beside):
        if g != BORDER and e not in sub.target:
            parent[root(f)] = root(g)
    return {
        "faces": len(sub.faces),
        "vertices": len(sub.vertices),
        "folds": sum(sub.is_fold(e) for e in range(len(sub.edges))),
        "flat": sub.kind.count("flat"),
        "pieces": len({root(f) for f in range(len(sub.faces))}),
    }
