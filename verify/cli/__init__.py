"""The command `creaseproof`: each module holds the commands of one kind, and is imported when one of them is wanted."""

from verify.cli.frame import main

SAYS = {  # the first sentence of each command's help, which is not imported to list them
    "audit": "Let the kernel check CERTIFICATE against DOCUMENT.",
    "certify": "Check DOCUMENTS and prove the outcome: certified, or refuted with the place and the reason.",
    "compare": "Certify BASELINE and CANDIDATE, two folders of documents (or two documents), and say what has changed.",
    "construct": "Construct a pattern with which one straight cut frees the target of the document TARGET, and "
    "certify it.",
    "count": "Count the assignments that fold at every vertex, the assignments that fold, and the layer orders of "
    "DOCUMENT.",
    "exact": "Propose an exact pattern near DOCUMENT, a drawing with rounded numbers, and certify it.",
    "explain": "Say at length what was checked in DOCUMENT, vertex by vertex, and what came out.",
    "export": "Write DOCUMENT, if it is certified, for a machine that cuts and scores: SVG or DXF in true millimetres.",
    "fold": "Carry out RECIPE step by step, exactly, and say what the scissors really cut.",
    "handout": "Print DOCUMENTS, patterns and recipes, as a PDF in true scale.",
    "hunt": "Look for a small pattern of which PROPERTY does not hold.",
    "import": "Read DRAWING, an SVG file, and write a pattern document in mm with the same numbers, exactly.",
    "letters": "Make a certified sheet for each letter of WORD: a recipe of a few simple folds and one cut.",
    "picture": "Draw DOCUMENT into a folder: pattern, folded sheet, stack, cut and pieces, as SVG.",
    "recipe": "Find the shortest recipe of simple folds after which one straight cut frees the target of TARGET, "
    "and certify it.",
    "report": "Write a report on DOCUMENT: one HTML file with the verdict, every check, linked views, the fold in "
    "motion, cut and pieces.",
    "steps": "Find simple folds that lead to the folded state of PATTERN, as a recipe that folds exactly its "
    "creases, and certify it.",
    "sweep": "Certify all documents in PATHS, folders and files, and write a table, certificates and reports for CI.",
    "tolerance": "Estimate how true each fold of RECIPE must be for the cut to come out.",
}
_ELSEWHERE = {  # a module that has another name than the command
    "explain": "certify",
    "export": "picture",
    "fold": "recipes",
    "handout": "picture",
    "import": "drawing_in",
    "recipe": "search",
    "report": "picture",
    "tolerance": "recipes",
}
MODULES = {name: name for name in SAYS} | _ELSEWHERE
main.modules.update({command: f"verify.cli.{module}" for command, module in MODULES.items()})
main.says.update(SAYS)

__all__ = ["main"]
