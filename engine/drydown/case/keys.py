"""Keys of a case file, as whoever reads them declares them: sections of the file, and loads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Key:
    """One key of a section: its name, what it reads, what it means, whether it must be there.

    Parameters
    ----------
    name : str
    reads : str
        A quantity of `drydown.quantities` (the value then states its unit), 'text', 'number', 'count', 'yes or no',
        'date', 'direction', or 'one of this, that'.
    about : str
        What it means, in a few words.
    needed : bool
    """

    name: str
    reads: str
    about: str
    needed: bool


@dataclass(frozen=True)
class Section:
    """The keys of a section that may stand several times in a case file, as ``[[its name]]``.

    Parameters
    ----------
    keys : mapping of str to Key
    chooser : str
        Key that names the model where the section has several.
    default : str
        The model where none is named.
    models : mapping of str to mapping of str to Key
        Further keys of each model.
    renamed : mapping of str to str
        Old names of keys that still work, with their new ones.
    """

    keys: Mapping[str, Key] = field(default_factory=dict)
    chooser: str = ""
    default: str = ""
    models: Mapping[str, Mapping[str, Key]] = field(default_factory=dict)
    renamed: Mapping[str, str] = field(default_factory=dict)


def keys_of(table: str) -> dict[str, Key]:
    """Return the keys of a table of lines ``name | reads | about``; a name that ends in * must be there.

    Parameters
    ----------
    table : str

    Raises
    ------
    ValueError
        A line that has not three parts.
    """
    out = {}
    for line in filter(None, (line.strip() for line in table.splitlines())):
        parts = [part.strip() for part in line.split("|")]
        if len(parts) != 3 or not all(parts):
            raise ValueError(f"'{line}' is no key; write it as: name | what it reads | what it means")
        name, reads, about = parts
        out[name.rstrip("*")] = Key(name.rstrip("*"), reads, about, name.endswith("*"))
    return out
