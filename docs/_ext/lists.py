"""Two lists that are written by the program itself: the keys of a case file, and the commands."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from docutils import nodes
from sphinx.util.docutils import SphinxDirective


def case_keys() -> Iterator[str]:
    """Yield the sections of a case file as Markdown."""
    from drydown.casefile.keys_listed import sections, value_of

    def quoted(text: str) -> str:
        """Return text with what is written in quotes as code."""
        return re.sub(r"'([^']+)'", r'`"\1"`', text)

    def value(word: str) -> str:
        return f"`{word}`" if word.startswith('"') else word if word[:1].isdigit() else f"*{word}*"

    for section in sections():
        title = section.title
        if section.models:
            title += f", {section.chooser} " + ", ".join(f'"{m}"' for m in section.models)
        yield f"**{title}**\n"
        yield "| key | value | meaning |\n|---|---|---|"
        for k in section.keys:
            values = (", " if k.reads.startswith("one of ") else " or ").join(value(word) for word in value_of(k))
            yield f"| `{k.name}`{' (needed)' * k.needed} | {values} | {quoted(k.about)} |"
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
