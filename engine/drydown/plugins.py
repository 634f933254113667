"""What is installed: catalogues of materials, climates, criteria and loads, found through entry points.

A plugin registers a function without arguments in one of the groups `drydown.materials`, `drydown.climates`,
`drydown.criteria`, `drydown.loads`. The function returns a mapping of names to objects, or to functions without
arguments that build them. Nothing of a plugin is imported before it is asked for. A plugin or an entry that is
broken is named in one `PluginWarning` and skipped; the rest works.
"""

from __future__ import annotations

import difflib
import re
import warnings
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import lru_cache
from threading import RLock
from typing import Any, Protocol

from .errors import InputError, nearest
from .materials.contract import problems
from .materials.model import Film, Material

#: Entry points with this name are our own library; it is read first.
OWN = "drydown"


class Named(dict[str, Any]):
    """A catalogue that also answers to words of the trade.

    Parameters
    ----------
    entries : mapping
        Names to entries, or to what builds them.
    words : mapping
        Words to the name of the entry they mean.
    none : mapping
        Words that mean no entry, to what would be right.
    """

    def __init__(
        self, entries: Mapping[str, Any], words: Mapping[str, str] | None = None, none: Mapping[str, str] | None = None
    ) -> None:
        super().__init__(entries)
        self.words = {spelled(k): v for k, v in (words or {}).items()}
        self.none = {spelled(k): v for k, v in (none or {}).items()}


_SPELLINGS = (
    ("vapor", "vapour"), ("fiber", "fibre"), ("aluminum", "aluminium"), ("fibre glass", "fibreglass"),
    ("house wrap", "housewrap"), ("dry wall", "drywall"), ("sheeting", "sheeting"), ("mold", "mould"),
)  # fmt: skip


def spelled(name: str) -> str:
    """Return a name without what spelling leaves open: capitals, hyphens, vapor or vapour, fiber or fibre."""
    text = " ".join(name.casefold().replace("-", " ").replace("_", " ").split())
    for said, written in _SPELLINGS:
        text = text.replace(said, written).replace("vapouur", "vapour")
    return text


#: A size before a name, '5/8 in', '2x6', '1-1/2"': the thickness of a layer says it.
_SIZE = re.compile(r"[\d./ x-]+\s*(?:in(?:ch|\.)?|mm|\")?\s+(?=[a-z])")


class PluginWarning(UserWarning):
    """A plugin, or one of its entries, is broken and was skipped."""


class EntryPoint(Protocol):
    """What is used of `importlib.metadata.EntryPoint`."""

    @property
    def name(self) -> str:
        """Name of the entry."""
        ...

    def load(self) -> Any:
        """Import what it names."""
        ...


def _say(error: BaseException) -> str:
    kind = "" if isinstance(error, InputError) else f"{type(error).__name__}: "
    return f"{kind}{' '.join(str(error).split())[:200]}"


class Registry(Mapping[str, Any]):
    """Names to objects of one entry point group, each built when first asked for.

    Where two plugins offer one name the first has it; ``"plugin:name"`` reaches either.

    Parameters
    ----------
    group : str
        Entry point group.
    noun : str
        What one entry is called in messages.
    check : callable
        Returns what is wrong with a built entry, one line each.
    build : bool
        Call the values of the catalogues to get the entries; False: take them as they are.
    points : iterable of EntryPoint, optional
        Instead of what is installed.
    aliases : bool
        Look for a name that is not known among the aliases of the entries too, which builds them all.
    """

    def __init__(
        self,
        group: str,
        noun: str,
        check: Callable[[Any], list[str]] = lambda entry: [],
        build: bool = True,
        points: Iterable[EntryPoint] | None = None,
        aliases: bool = True,
    ) -> None:
        self.group, self.noun, self.aliases = group, noun, aliases
        self._check, self._build, self._points = check, build, points
        self._loaded: dict[str, Mapping[str, Any]] | None = None
        self._built: dict[tuple[str, str], Any] = {}
        self._broken: dict[tuple[str, str], str] = {}
        self._lock = RLock()  # the two runs of a trial ask at once, the first time too

    def _warn(self, plugin: str, name: str, why: str) -> None:
        self._broken[plugin, name] = why
        what = f"{self.noun} '{name}' of plugin '{plugin}'" if name else f"plugin '{plugin}' ({self.group})"
        warnings.warn(f"{what} is broken and was skipped: {why}", PluginWarning, stacklevel=4)

    def _found(self) -> Iterable[EntryPoint]:
        if self._points is not None:
            return self._points
        from importlib.metadata import entry_points

        return sorted(entry_points(group=self.group), key=lambda p: (p.name != OWN, p.name))

    @property
    def plugins(self) -> dict[str, Mapping[str, Any]]:
        """Catalogues by plugin name, not yet built; plugins that fail to import are left out."""
        with self._lock:
            if self._loaded is None:
                self._loaded = {}
                for point in self._found():
                    if point.name in self._loaded or (point.name, "") in self._broken:
                        continue
                    try:
                        catalogue = point.load()
                        catalogue = catalogue() if callable(catalogue) else catalogue
                    except Exception as error:
                        self._warn(point.name, "", _say(error))
                        continue
                    if not isinstance(catalogue, Mapping) or not all(isinstance(name, str) for name in catalogue):
                        self._warn(
                            point.name, "", f"its catalogue is {type(catalogue).__name__}, not a mapping of names"
                        )
                        continue
                    self._loaded[point.name] = catalogue
        return self._loaded

    @property
    def broken(self) -> dict[str, str]:
        """What was skipped so far and why: ``"plugin"`` or ``"plugin:name"`` to a line."""
        return {f"{p}:{n}" if n else p: why for (p, n), why in self._broken.items()}

    def _make(self, plugin: str, name: str) -> Any | None:
        key = plugin, name
        if key in self._broken:
            return None
        with self._lock:
            if key not in self._built:
                try:
                    given = self.plugins[plugin][name]
                    entry = given() if self._build and callable(given) else given
                    wrong = self._check(entry)
                except Exception as error:
                    self._warn(plugin, name, _say(error))
                    return None
                if wrong:
                    more = f" (and {len(wrong) - 1} more)" if len(wrong) > 1 else ""
                    self._warn(plugin, name, wrong[0] + more)
                    return None
                self._built[key] = entry
        return self._built[key]

    def _homes(self) -> dict[str, tuple[str, str]]:
        """Every name that can be asked for, with the plugin that has it."""
        homes: dict[str, tuple[str, str]] = {}
        for plugin, catalogue in self.plugins.items():
            for name in catalogue:
                if (plugin, name) not in self._broken:
                    homes.setdefault(name, (plugin, name))
        return homes

    def __iter__(self) -> Iterator[str]:
        return iter(self._homes())

    def __len__(self) -> int:
        return len(self._homes())

    def __getitem__(self, name: str) -> Any:
        entry = self._lookup(name)
        if entry is None:
            raise KeyError(name)
        return entry

    def entries(self) -> dict[str, Any]:
        """Build everything; entries that are broken are warned about and left out."""
        built = {name: self._make(*home) for name, home in self._homes().items()}
        return {name: entry for name, entry in built.items() if entry is not None}

    def home(self, name: str) -> str:
        """Return the plugin that answers to a name."""
        return self._homes().get(name, (name.partition(":")[0], name))[0]

    def _lookup(self, name: str) -> Any | None:
        plugin, colon, rest = name.partition(":")
        if colon and rest in self.plugins.get(plugin, ()):
            return self._make(plugin, rest)
        homes = self._homes()
        if name in homes:
            return self._make(*homes[name]) or self._lookup_elsewhere(name)
        folded = {n.casefold(): n for n in reversed(list(homes))}
        if name.casefold() in folded:
            return self._make(*homes[folded[name.casefold()]])
        if not self.aliases:
            return None
        alike = (
            e for e in self.entries().values() if name.casefold() in (a.casefold() for a in getattr(e, "aliases", ()))
        )
        return next(alike, None) or self._by_word(spelled(name))

    def is_word(self, name: str) -> bool:
        """Return whether a name is a word of the trade for an entry, and no name or alias of one."""
        return any(self._by_size(spelled(name), getattr(c, "words", {})) for c in self.plugins.values()) and not any(
            name.casefold() in (n.casefold(), *(a.casefold() for a in getattr(entry, "aliases", ())))
            for n, entry in self.entries().items()
        )

    @staticmethod
    def _by_size(word: str, words: Mapping[str, Any]) -> str:
        """Return the word as it is known, with or without the size before it; empty: it is not."""
        bare = _SIZE.sub("", word, count=1) if _SIZE.match(word) else word
        return next((w for w in (word, bare) if w in words), "")

    def _by_word(self, word: str) -> Any | None:
        """Return what a word of the trade means, with or without a size before it."""
        known = self._by_size(word, words := self.spoken())
        return self._make(*words[known]) if known else None

    def spoken(self) -> dict[str, tuple[str, str]]:
        """Every word that means an entry, as spelling leaves it, with the entry: names, aliases, words of the trade."""
        out: dict[str, tuple[str, str]] = {}
        for plugin, catalogue in self.plugins.items():
            for name in catalogue:
                if (plugin, name) not in self._broken:
                    out.setdefault(spelled(name), (plugin, name))
            for word, name in getattr(catalogue, "words", {}).items():
                if name in catalogue and (plugin, name) not in self._broken:
                    out.setdefault(word, (plugin, name))
        for name, home in self._homes().items():
            for alias in getattr(self._built.get(home), "aliases", ()):
                out.setdefault(spelled(alias), (home[0], name))
        return out

    def _kind(self, home: tuple[str, str]) -> str:
        given = self.plugins[home[0]][home[1]]
        kind = getattr(given, "kind", None)
        if kind is None:
            kind = "film" if isinstance(self._make(*home), Film) else "material"
        return str(kind)

    def _near(self, name: str, kind: str) -> str:
        """Return a sentence with the nearest names of a kind; where a word of the trade is nearest, what it means."""
        homes = self._homes()
        if not self.aliases:
            return nearest(name, homes)
        self.entries()
        words = {w: home for w, home in self.spoken().items() if not kind or self._kind(home) == kind}
        short = {spelled(n): n for n in homes}
        word = spelled(name)
        close = difflib.get_close_matches(word, words, 3, 0.6)
        ours = set(word.split())
        close += sorted(
            (w for w in words if w not in close and len(ours & set(w.split())) >= max(1, len(ours) - 1)),
            key=lambda w: -len(ours & set(w.split())) / len(set(w.split())),
        )
        meant: dict[str, str] = {}
        for w in close:
            entry = words[w][1]
            meant.setdefault(entry, f"'{entry}'" if short.get(w) == entry else f"'{entry}' ({w})")
        if meant:
            return f"did you mean {' or '.join(list(meant.values())[:3])}?"
        return nearest(name, (n for n, home in homes.items() if not kind or self._kind(home) == kind))

    def _lookup_elsewhere(self, name: str) -> Any | None:
        """The first plugin's entry is broken: another plugin may have one of that name."""
        homes = self._homes()
        return self._make(*homes[name]) if name in homes else None

    def get_entry(self, name: str, where: str = "", kind: str = "") -> Any:
        """Return an entry by name, by alias, by a word of the trade, or as ``"plugin:name"``; case does not matter.

        Parameters
        ----------
        name, where : str
        kind : str
            ``"film"`` or ``"material"``: what is looked for, so that what is offered instead is of that kind.

        Raises
        ------
        InputError
            With the nearest names and the plugins that are installed, or with why the entry is broken.
        """
        entry = self._lookup(name)
        if entry is not None:
            return entry
        for key, why in self.broken.items():
            if name.casefold() in (key.casefold(), key.partition(":")[2].casefold()):
                raise InputError(f"{self.noun} '{key}' is broken: {why}", where)
        for catalogue in self.plugins.values():
            if spelled(name) in getattr(catalogue, "none", {}):
                raise InputError(f"'{name}': {catalogue.none[spelled(name)]}", where)  # type: ignore[attr-defined]
        close = self._near(name, kind)
        installed = ", ".join(f"'{p}' ({len(c)})" for p, c in self.plugins.items()) or "none"
        raise InputError(
            f"no {kind or self.noun} is called '{name}'; {close}; plugins installed: {installed}",
            where,
        )


@lru_cache(maxsize=1)
def materials() -> Registry:
    """Return the materials and films that are installed, by name."""
    return Registry("drydown.materials", "material", problems)


@lru_cache(maxsize=1)
def climates() -> Registry:
    """Return the climates that are installed, by name."""
    return Registry("drydown.climates", "climate", aliases=False)


@lru_cache(maxsize=1)
def criteria() -> Registry:
    """Return the criteria that are installed, by name; catalogue values are taken as they are."""
    return Registry("drydown.criteria", "criterion", build=False)


@lru_cache(maxsize=1)
def loads() -> Registry:
    """Return the loads that are installed, classes by the name of their section in a case file."""

    def wrong(kind: Any) -> list[str]:
        missing = [name for name in ("section", "from_keys", "to_keys", "lower") if not hasattr(kind, name)]
        return [f"it has no '{missing[0]}'; derive a frozen dataclass from drydown.case.load.Load"] if missing else []

    return Registry("drydown.loads", "load", wrong, build=False, aliases=False)


def forget() -> None:
    """Forget what was found, so that a plugin installed meanwhile is seen."""
    for registry in (materials, climates, criteria, loads):
        registry.cache_clear()


def material(name: str, where: str = "") -> Material:
    """Return a material by name, alias or ``"plugin:name"``.

    Parameters
    ----------
    name, where : str
        Name, alias, word of the trade or ``"plugin:name"``; where it stands, for the message.

    Raises
    ------
    InputError
        If nothing has that name, or it is a film.
    """
    entry = materials().get_entry(name, where, "material")
    if not isinstance(entry, Material):
        raise InputError(f"'{name}' is a film, not a material; list it without a thickness", where)
    return entry


def film(name: str, where: str = "") -> Film:
    """Return a film, found as `plugins.material` finds a material; InputError where it is none."""
    entry = materials().get_entry(name, where, "film")
    if not isinstance(entry, Film):
        raise InputError(f"'{name}' is a material, not a film; give it a thickness", where)
    return entry


def climate(name: str, where: str = "") -> Any:
    """Return a climate by name or ``"plugin:name"``; see `drydown.weather`."""
    return climates().get_entry(name, where)


def criterion(name: str, where: str = "") -> Any:
    """Return a criterion by name or ``"plugin:name"``."""
    return criteria().get_entry(name, where)
