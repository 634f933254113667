"""Two lists that are written by the program itself: the keys of a case file, and the commands."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from docutils import nodes
from sphinx.util.docutils import SphinxDirective


def case_keys() -> Iterator[str]:
    """Yield the sections of a case file as Markdown."""
    from drydown.casefile.schema import LISTS, MODELS, SECTIONS
    from drydown.quantities import QUANTITIES

    def quoted(text: str) -> str:
        """Return text with what is written in quotes as code."""
        return re.sub(r"'([^']+)'", r'`"\1"`', text)

    def value(reads: str) -> str:
        reads = "fraction" if reads == "share" else reads
        if reads in QUANTITIES:
            return quoted(QUANTITIES[reads].example)
        if reads.startswith("one of "):
            return ", ".join(f'`"{word}"`' for word in reads.removeprefix("one of ").split(", "))
        return f"*{reads}*"

    known: dict[tuple[str, ...], list[str]] = {}
    for section, keys in SECTIONS.items():
        rows = tuple(
            f"| `{k.name}`{' (needed)' * k.needed} | {value(k.reads)} | {quoted(k.about)} |" for k in keys.values()
        )
        known.setdefault(rows, []).append(section)
    for rows, sections in known.items():
        head = sections[0].partition(" ")[0]
        models = [s.partition(" ")[2] for s in sections if " " in s]
        title = "Before the first section" if head == "case" else f"[[{head}]]" if head in LISTS else f"[{head}]"
        if models:
            title += f", {MODELS[head][0]} " + ", ".join(f'"{m}"' for m in models)
        yield f"**{title}**\n"
        yield "| key | value | meaning |\n|---|---|---|"
        yield from rows
        yield ""


def commands() -> Iterator[tuple[str, str]]:
    """Yield every command with its help."""
    import click
    from drydown.cli import main

    def walk(command: Any, name: str, parent: Any) -> Iterator[tuple[str, str]]:
        context = click.Context(command, info_name=name.split()[-1], parent=parent, max_content_width=92)
        yield name, command.get_help(context)
        for word, below in sorted(getattr(command, "commands", {}).items()):
            yield from walk(below, f"{name} {word}", context)

    yield from walk(main, "drydown", None)


class CaseKeys(SphinxDirective):
    """`case-keys`: the keys of a case file as tables."""

    def run(self) -> list[nodes.Node]:
        """Return the tables."""
        return self.parse_text_to_nodes("\n".join(case_keys()))


class Commands(SphinxDirective):
    """`commands`: the help of every command."""

    def run(self) -> list[nodes.Node]:
        """Return a rubric and a block for each."""
        found: list[nodes.Node] = []
        for name, text in commands():
            found += [nodes.rubric(name, name), nodes.literal_block(text, text, language="text")]
        return found


def setup(app: Any) -> dict[str, bool]:
    """Register both."""
    app.add_directive("case-keys", CaseKeys)
    app.add_directive("commands", Commands)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
