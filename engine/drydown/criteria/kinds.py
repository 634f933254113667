"""What kind a layer is and how sensitive to mould, by the words of its material where the results do not say."""

from __future__ import annotations

import re

_KINDS = (
    ("air", r"\bair\b|\bgap\b|cavity"),
    (
        "insulation",
        r"insulat|wool|cellulose|\b[ex]ps\b|foam|polyiso|\bpi?ur\b|\bpir\b|batt|fibre mat|fiberglass|glass fib",
    ),
    ("wood", r"wood|timber|spruce|pine|larch|cedar|\bfir\b|oak|\bosb\b|ply|particle|chip|hardboard|fibreboard|\bmdf\b"),
    ("mineral", r"brick|stone|concrete|mortar|plaster|stucco|cement|\baac\b|masonry|render|screed|calcium silicate"),
)
_CLASSES = (
    ("very sensitive", r"sapwood"),
    ("sensitive", r"gypsum board|paper|cellulose|plasterboard|straw|cork"),
    ("resistant", r"\b[ex]ps\b|foam|polyiso|\bpi?ur\b|\bpir\b|metal|steel|alumin|glass\b(?! (fib|wool))"),
)
_BY_KIND = {
    "wood": "sensitive",
    "mineral": "medium resistant",
    "insulation": "medium resistant",
    "air": "",
    "metal": "resistant",
}


def guess_kind(name: str) -> str:
    """Return "wood", "mineral", "insulation", "air" or "other"."""
    for kind, words in _KINDS:
        if re.search(words, name.casefold()):
            return kind
    return "other"


def guess_mould_class(name: str, kind: str) -> str:
    """Return the sensitivity class of Ojanen et al. (2010), the sensitive one where nothing better is known."""
    for klass, words in _CLASSES:
        if re.search(words, name.casefold()):
            return klass
    return _BY_KIND.get(kind, "sensitive")
