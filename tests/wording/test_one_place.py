"""English about a result is made in `wording/`: nowhere else in the engine stands a sentence that a person reads.

Docstrings, help texts of commands, errors and what a criterion, a limit or a variable is called are no such sentences.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

ENGINE = Path(__file__).parents[2] / "engine/drydown"
#: Calls whose texts are errors, warnings or help.
NOT_ABOUT_RESULTS = re.compile(
    r"(Error|Stop|Warning|warn|option|argument|command|group|Limit|Source|Option|Kind|fail|echo)$"
)
#: Why a module holds sentences of its own all the same.
REASONS = {
    "catalogue/": "pages and sheets of the entries of the library",
    "cli/": "progress, and what was written where",
    "criteria/": "the terms of a criterion, which wording fills; a plugin brings its own in the same way",
    "desk/desk.py": "whether what is made can be kept",
    "desk/document.py": "what keeps a case from being run",
    "desk/filing.py": "files that are there already",
    "desk/opening.py": "what is on the desk when it is opened",
    "figures/": "titles and captions inside a drawing",
}


def sentence(text: str) -> bool:
    """Return whether a text is a sentence: a capital, five words and a stop, or two sentences."""
    text = " ".join(text.split())
    words = re.findall(r"[A-Za-z]{2,}", text)
    return len(words) >= 5 and bool(re.match(r"[A-Z\"“]", text)) and bool(re.search(r"[a-z)%²}][.!?](\s|$)", text))


def joined(node: ast.AST) -> str | None:
    """Return the text of a string or an f-string, a brace for each value."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(v.value if isinstance(v, ast.Constant) else "{}" for v in node.values)
    return None


def sentences(tree: ast.AST) -> list[tuple[int, str]]:
    """Return line and text of every sentence that is neither a docstring nor in a call that is not about results."""
    found: list[tuple[int, str]] = []

    def walk(node: ast.AST) -> None:
        if isinstance(node, ast.Call):
            name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            if NOT_ABOUT_RESULTS.search(name):
                return
        for child in ast.iter_child_nodes(node):
            # a string that stands alone is documentation
            if isinstance(child, ast.Expr) and joined(child.value) is not None:
                continue
            text = joined(child)
            if text is not None:
                if sentence(text):
                    found.append((child.lineno, text))
                continue
            walk(child)

    walk(tree)
    return found


def test_sentences_about_results_stand_in_wording():
    stray = []
    for path in sorted(ENGINE.rglob("*.py")):
        name = path.relative_to(ENGINE).as_posix()
        if name.startswith("wording/") or any(name.startswith(known) for known in REASONS):
            continue
        stray += [f"{name}:{line}: {text}" for line, text in sentences(ast.parse(path.read_text(encoding="utf-8")))]
    assert not stray, "\n".join(stray)


def test_every_reason_is_needed():
    for known in REASONS:
        assert any(
            sentences(ast.parse(p.read_text(encoding="utf-8")))
            for p in ENGINE.rglob("*.py")
            if p.relative_to(ENGINE).as_posix().startswith(known)
        ), known


def test_the_finder_finds():
    code = (
        'def f(x):\n    """Return what it is: a docstring."""\n    return f"In {x}, the wood is wet for a long time."\n'
    )
    assert [line for line, _ in sentences(ast.parse(code))] == [3]
    assert sentences(ast.parse('raise InputError("It needs a wall, and there is no wall here.")')) == []


def test_no_criterion_is_listed_by_name_outside_its_room():
    """Names of criteria as strings: in `criteria/` and in texts that show how to write one, nowhere else."""
    from drydown.criteria import catalogue

    names = {c.name for c in catalogue().values()}
    # `mould` is also the word for the curve of that in a cup of the bench, and an example in texts
    shown = {"plugins.py", "study/outputs.py"}
    for path in sorted(ENGINE.rglob("*.py")):
        name = path.relative_to(ENGINE).as_posix()
        if name.startswith("criteria/") or name in shown:
            continue
        strings = {
            n.value
            for n in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
            if isinstance(n, ast.Constant) and isinstance(n.value, str)
        }
        assert not strings & names, (name, strings & names)
