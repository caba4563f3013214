"""SVG files read safely as a tree: nothing fetched, no entity replaced, size and depth bounded."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from xml.parsers import expat

from verify.pattern.source import LIMIT_BYTES, Malformed, no_text

SVG = "http://www.w3.org/2000/svg"
MAX_DEPTH = 100
MAX_ELEMENTS = 20_000
_ENDS_EARLY = expat.errors.codes[expat.errors.XML_ERROR_NO_ELEMENTS]
_ENTITY = re.compile(r"&(?!#|(?:amp|lt|gt|quot|apos);)([^\s;&<]{0,40});?")


@dataclass(eq=False)
class Element:
    """An element of the SVG namespace (or of none). `names` are what programs call it: labels in any namespace.

    `text` is its own character data; elements of other namespaces are not in the tree.
    """

    tag: str
    attributes: dict[str, str]
    line: int
    names: list[str] = field(default_factory=list)
    children: list[Element] = field(default_factory=list)
    text: str = ""

    @property
    def id(self) -> str:
        return self.attributes.get("id", "")

    def __str__(self) -> str:
        return f'<{self.tag} id="{self.id}">' if self.id else f"<{self.tag}>"

    def walk(self) -> Iterator[Element]:
        """This element and all inside it, in the file's order."""
        stack = [self]
        while stack:
            element = stack.pop()
            yield element
            stack.extend(reversed(element.children))


def parse(data: bytes, source: str) -> Element:
    """The root `<svg>` element of a file in UTF-8. Raises `Malformed`."""
    if len(data) > LIMIT_BYTES:
        raise Malformed(source, "", f"{len(data):,} bytes", f"at most {LIMIT_BYTES:,}")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise no_text(source, data, error, "an SVG file in UTF-8") from None
    return _Parser(source, text).parse()


class _Parser:
    def __init__(self, source: str, text: str) -> None:
        self.source, self.text = source, text
        self.root: Element | None = None
        self.stack: list[Element | None] = []
        self.count = 0
        self.expat = expat.ParserCreate("utf-8", " ")
        self.expat.buffer_text = True
        self.expat.StartElementHandler = self.start
        self.expat.EndElementHandler = self.end
        self.expat.CharacterDataHandler = self.characters
        self.expat.StartDoctypeDeclHandler = self.doctype
        self.expat.ProcessingInstructionHandler = self.instruction
        self.expat.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)

    def parse(self) -> Element:
        try:
            self.expat.Parse(self.text.encode(), True)
        except expat.ExpatError as error:
            found = f"a mistake in the XML ({expat.ErrorString(error.code)})"
            if error.code == _ENDS_EARLY:
                found = "the end of the file before its <svg> element is closed" if self.text.strip() else "nothing"
            at = f"column {error.offset + 1}"
            raise Malformed(self.source, at, found, "an SVG file", error.lineno) from None
        if self.root is None:
            raise Malformed(self.source, "", "no element", "an <svg> element")
        return self.root

    def fail(self, found: str, expected: str) -> None:
        raise Malformed(self.source, "", found, expected, self.expat.CurrentLineNumber)

    def doctype(self, _name: str, _system: str | None, public: str | None, internal: int) -> None:
        """The standard's bare DOCTYPE is let through: no file is fetched for it, and no entity may be used with it."""
        if internal:
            self.fail("a DOCTYPE with declarations of its own", "a file without entities")
        entity = _ENTITY.search(self.text)
        if entity:
            line = self.text.count("\n", 0, entity.start()) + 1
            raise Malformed(self.source, "", f'the entity "&{entity[1]};"', "a file without entities", line)

    def instruction(self, target: str, _data: str) -> None:
        if target == "xml-stylesheet":
            self.fail("a style sheet in another file", "style inside the drawing")

    def start(self, name: str, attributes: dict[str, str]) -> None:
        self.count += 1
        if self.count > MAX_ELEMENTS:
            self.fail(f"more than {MAX_ELEMENTS:,} elements", f"at most {MAX_ELEMENTS:,}")
        if len(self.stack) >= MAX_DEPTH:
            self.fail(f"elements nested more than {MAX_DEPTH} deep", f"at most {MAX_DEPTH} levels")
        space, _, tag = name.rpartition(" ")
        above = self.stack[-1] if self.stack else None
        if self.stack and (above is None or space not in ("", SVG)):
            self.stack.append(None)  # another namespace's: an editor's notes
            return
        if not self.stack and (tag != "svg" or space not in ("", SVG)):
            self.fail(f"the element <{tag}>", "an <svg> element")
        element = Element(tag, {}, self.expat.CurrentLineNumber)
        for key, value in attributes.items():
            where, _, local = key.rpartition(" ")
            if not where or local == "href":
                element.attributes.setdefault(local, value)
            if local in ("label", "data-name", "aria-label"):
                element.names.append(value)
        if element.id:
            element.names.append(element.id)
        if above is None:
            self.root = element
        else:
            above.children.append(element)
        self.stack.append(element)

    def end(self, _name: str) -> None:
        element = self.stack.pop()
        if element is not None and element.tag == "title" and self.stack and self.stack[-1] is not None:
            self.stack[-1].names.append(element.text.strip())

    def characters(self, text: str) -> None:
        element = self.stack[-1] if self.stack else None
        if element is not None:
            element.text += text
