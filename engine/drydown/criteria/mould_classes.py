"""How sensitive to mould a layer is, by the words of its material where the results do not say."""

from __future__ import annotations

import re

#: Classes by words of materials, in the order they are looked for. Source: Ojanen et al. (2010), Buildings XI, tables
#: 4 and 6: untreated pine sapwood; planed or glued wood, paper-faced products; polished polyurethane, glass, metal.
#: That pine is sapwood, and other plant fibres are like wood, is assumed: the safe side.
_CLASSES = (
    ("very sensitive", r"sapwood|\bpine\b"),
    ("sensitive", r"wood|timber|gypsum board|plasterboard|paper|cellulose|straw|hemp|flax|cork"),
    ("resistant", r"polyurethane|polyiso|\bpu\b|\bp[iu]r\b|metal|steel|alumin|glass\b(?! (fib|wool))"),
)
#: Otherwise by kind: concrete, aerated concrete and mineral wool are medium resistant (the same tables).
_BY_KIND = {"mineral": "medium resistant", "insulation": "medium resistant", "metal": "resistant", "air": ""}


def mould_class(words: str, kind: str) -> str:
    """Return the class of Ojanen et al. (2010), the sensitive one where nothing better is known; none for air.

    Parameters
    ----------
    words : str
        Name and tags of the material.
    kind : str
        As the coordinate `kind_of_layer` of results.
    """
    if kind == "air":
        return ""
    for klass, found in _CLASSES:
        if re.search(found, words.casefold()):
            return klass
    return _BY_KIND.get(kind, "sensitive")
