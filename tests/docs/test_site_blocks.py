"""Every code block of the documentation and the README is run.

What a block is, its fence says: `python` is executed, block after block of a page in one namespace and one folder;
so are the cells of notebooks (`{code-cell}`);
in `sh`, and in indented lines, what begins with `drydown` is run in that folder; `toml` is read as what it is (a case,
a part of one, a catalogue, a study, a project file); `csv` is data. `text` and `console` are shown and not run.
A `toml` block whose first line is `# NAME.toml` is that file. Every page finds a `wall.toml`, that of `drydown new`,
shortened to 120 days; in `mine.toml` its own catalogue, in `study.toml` its study, in `tests.csv` its data.
"""

from __future__ import annotations

import re
import shlex
import tomllib
from pathlib import Path
from typing import NamedTuple

import pytest
from click.testing import CliRunner
from drydown.cli import main
from markdown_it import MarkdownIt

ROOT = Path(__file__).parents[2]
PAGES = sorted(p for p in (ROOT / "docs").rglob("*.md") if not {"_build", ".ipynb_checkpoints"} & set(p.parts))
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *PAGES]
LANGUAGES = {
    "python",
    "sh",
    "toml",
    "csv",
    "text",
    "console",
    "{toctree}",
    "{code-cell}",
    "{eval-rst}",
    "{case-keys}",
    "{commands}",
}

#: Commands that take minutes: their options are checked, they are not run.
LONG = (
    r"drydown validate$|drydown validate (--out|--accuracy|--field|--measured|manufactured)",
    r"drydown (dryout|report) .*(--calendar|--reserve|--check|--spread|--posterior)",
    r"drydown bench (map|sensitivity|design)",
    r"drydown fit",
    r"drydown study (run|slurm)",
    r"drydown desk",  # serves until it is stopped: tests/desk
)
#: Pages whose Python and commands a test of their own runs; here it is looked whether commands and options exist.
IN_FULL = {
    "docs/membranes.md": "tests/docs/test_membranes_page.py",
    "docs/start.md": "tests/docs/test_site_start.py",
    "docs/studies.md": "tests/docs/test_studies_page.py",
}


class Block(NamedTuple):
    """A block of a page."""

    line: int
    language: str  # "" where it is indented
    text: str


def blocks(page: Path) -> list[Block]:
    """Return the blocks of a page in their order."""
    tokens = MarkdownIt().parse(page.read_text(encoding="utf-8"))
    return [
        Block(t.map[0] + 1, t.info.split()[0] if t.type == "fence" and t.info.strip() else "", t.content)
        for t in tokens
        if t.type in ("fence", "code_block") and t.map
    ]


def commands(block: Block) -> list[str]:
    """Return the `drydown` commands of a block."""
    if block.language not in ("sh", ""):
        return []
    joined = block.text.replace("\\\n", " ")
    found = [re.sub(r"\s+#.*$", "", line).strip() for line in joined.splitlines()]
    return [line for line in found if line.startswith("drydown ")]


def shortened(text: str) -> str:
    """Return a case file with a shorter period."""
    assert "years = 2 " in text
    return text.replace("years = 2 ", "days = 120 ")


def options_exist(words: list[str]) -> None:
    """Check that a command and its options exist, without running it."""
    command = main
    words = words[1:]
    while words and words[0] in getattr(command, "commands", {}):
        command, words = command.commands[words[0]], words[1:]
    assert not hasattr(command, "commands"), f"no command {words[:1]}"
    known = {o for p in command.params for o in (*p.opts, *p.secondary_opts)} | {"-h", "--help"}
    assert {w for w in words if re.match(r"--?[a-z]", w)} <= known


def run_command(line: str) -> str:
    """Run one command in this folder and return what it printed."""
    words = shlex.split(line)
    if any(re.match(pattern, line) for pattern in LONG):
        options_exist(words)
        return ""
    if words[1] == "new":
        Path(next((w for w in words[2:] if w.endswith(".toml")), "wall.toml")).unlink(missing_ok=True)
    for k, word in enumerate(words):
        if word.endswith((".png", ".html", ".nc")) and "/" in word:
            words[k] = Path(word).name  # the page writes it where it belongs, the test does not
    if words[1] == "report" and "--no-changes" not in words:
        words.append("--no-changes")  # the changes are further runs, one each
    done = CliRunner().invoke(main, words[1:])
    # a check of entries that a page shows in short ends with 1 and says what they lack
    usual = (0, 1) if words[1:3] == ["materials", "--check"] else (0,)
    assert done.exit_code in usual, f"{line}\n{done.output}\n{done.exception!r}"
    if words[1] == "new":
        for path in Path().glob("*.toml"):
            if "years = 2 " in path.read_text(encoding="utf-8"):
                path.write_text(shortened(path.read_text(encoding="utf-8")), encoding="utf-8")
    return done.output


def kind_of(data: dict) -> str:
    """Return what a TOML block is: case, part, catalogue, study or project."""
    if "project" in data:
        return "project"
    if {"axis", "design"} & set(data) or "base" in data:
        return "study"
    if {"layer", "period"} <= set(data):
        return "case"
    if set(data) <= {"material", "film", "source"}:
        return "catalogue"
    return "part"


def prepare(found: list[Block]) -> None:
    """Write the files that the blocks of a page stand for."""
    catalogue = []
    for block in found:
        if block.language == "csv":
            Path("tests.csv").write_text(block.text, encoding="utf-8")
        elif block.language == "toml":
            kind = kind_of(tomllib.loads(block.text))
            name = re.match(r"# (\S+\.toml)\n", block.text)
            if name:
                Path(name[1]).write_text(block.text, encoding="utf-8")
            elif kind == "study":
                Path("study.toml").write_text(block.text, encoding="utf-8")
            if kind == "catalogue":
                catalogue.append(block.text)
    Path("mine.toml").write_text("\n".join(catalogue), encoding="utf-8")


def read_toml(block: Block) -> None:
    """Read a TOML block as what it is."""
    data = tomllib.loads(block.text)
    match kind_of(data):
        case "project":
            groups = data["project"]["entry-points"]
            assert set(groups) <= {"drydown.materials", "drydown.climates", "drydown.criteria", "drydown.loads"}
            assert all(":" in target for group in groups.values() for target in group.values())
        case "catalogue":
            from drydown.catalogue.file import read_catalogue

            entries = read_catalogue("mine.toml")  # a block may go on where the one before it ended
            for kind in ("material", "film"):
                for name in data.get(kind, {}):
                    assert entries[name]().sources
        case "study":
            from drydown.study import read_study

            read_study("study.toml")
        case kind:
            read_case_block(data, kind)


def read_case_block(data: dict, kind: str) -> None:
    """Read a case, or a part of one put into the case of the page."""
    from drydown.casefile import case_of, load
    from drydown.casefile.variants import change
    from drydown.criteria.limits import parse_limits

    base = {} if kind == "case" else load(Path("wall.toml"))
    if "layer" in data and kind == "part":
        named = {part.get("material") for part in data["layer"]}
        base["wetting"] = [w for w in base["wetting"] if w["layer"] in named]
    limits, variants = data.pop("limits", {}), data.pop("variant", [])
    merged = {**base, **data}
    case_of(merged, Path("wall.toml"))
    assert set(parse_limits(limits, "limits")) == set(limits)
    for table in variants:
        case_of(change(merged, table, "variant")[0], Path("wall.toml"))


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder with the wall of `drydown new`, shortened."""
    from drydown.examples import template

    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    Path("wall.toml").write_text(shortened(template("wall")), encoding="utf-8")
    return tmp_path


def before(page: str) -> dict:
    """Return the namespace a page begins with."""
    if page == "docs/criteria.md":
        from synthetic_results import results

        return {"results": results([20.0] * 5000, [0.95] * 5000)}
    return {}


@pytest.mark.parametrize("path", PAGES, ids=lambda p: str(p.relative_to(ROOT)))
def test_the_blocks_of_a_page(path, folder):
    page = str(path.relative_to(ROOT))
    in_full = page in IN_FULL
    assert not in_full or (ROOT / IN_FULL[page]).is_file()
    names = before(page)
    found = blocks(path)
    prepare(found)
    for block in found:
        where = f"{page}, line {block.line}"
        try:
            if block.language == "toml":
                read_toml(block)
            elif block.language in ("python", "{code-cell}") and not in_full:
                exec(compile("\n" * block.line + block.text, str(path), "exec"), names)
            for line in commands(block):
                if in_full:
                    options_exist(shlex.split(line))
                else:
                    run_command(line)
        except Exception as error:
            raise AssertionError(f"{where}: {error}") from error


def test_every_block_says_what_it_is():
    unknown = []
    for path in PAGES:
        for block in blocks(path):
            if block.language and block.language not in LANGUAGES:
                unknown.append(f"{path.relative_to(ROOT)}, line {block.line}: {block.language}")
    assert not unknown


def test_no_fence_hides_a_command():
    """What is a command of ours stands in `sh`, where it is run, not in `text` or `console`."""
    for path in PAGES:
        for block in blocks(path):
            if block.language in ("text", "console"):
                hidden = [x for x in block.text.splitlines() if re.match(r"\s*(\$ )?drydown [a-z]+ ", x)]
                assert not hidden, f"{path.relative_to(ROOT)}, line {block.line}: {hidden}"
