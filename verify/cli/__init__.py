"""The command `creaseproof`: each module holds the commands of one kind, and is imported when one of them is wanted."""

from verify.cli.frame import main

MODULES = {
    "audit": "audit",
    "certify": "certify",
    "compare": "compare",
    "construct": "construct",
    "count": "count",
    "exact": "exact",
    "explain": "certify",
    "export": "export",
    "fold": "recipes",
    "handout": "handout",
    "hunt": "hunt",
    "import": "drawing_in",
    "letters": "letters",
    "picture": "picture",
    "recipe": "search",
    "report": "picture",
    "steps": "steps",
    "sweep": "sweep",
    "tolerance": "recipes",
}
main.modules.update({command: f"verify.cli.{module}" for command, module in MODULES.items()})

__all__ = ["main"]
