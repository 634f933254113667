"""Check that drydown may be handed on with all it needs: the licence of every package that it needs, and of theirs.

    python .ci/licences.py [EXTRA ...]

What runs with drydown must have a licence of the list below. What only tests or builds it is not handed on and may have
others; each such package is named here with its reason. Prints what was found; ends with 1 where one is not allowed.
"""

import re
import sys
from importlib.metadata import Distribution, PackageNotFoundError, distribution

from packaging.requirements import Requirement

#: Licences under which a package may run with drydown, as SPDX names them; all allow to use and to hand on without
#: conditions on drydown itself. MPL-2.0 asks that changes to its own files stay open.
ALLOWED = {
    "0BSD", "Apache-2.0", "Apache-2.0 WITH LLVM-exception", "BSD-2-Clause", "BSD-3-Clause", "CC0-1.0", "ISC", "MIT",
    "MIT-0", "MIT-CMU", "MPL-2.0", "PSF-2.0", "Zlib", "Unlicense",
}  # fmt: skip
#: Extras whose packages run with drydown on a user's machine.
RUNNING = ("cluster", "cuda", "desk")
#: Packages of other extras with other licences, and why that is no matter.
APART = {
    "iapws": "GPL-3.0: tests compare our numbers with its; it is not imported by drydown and not handed on",
}
#: What older packages say in words, as SPDX names it. The first that is found counts.
WORDS = (
    (r"GNU|\bA?L?GPL", "GPL"),
    (r"Mozilla Public License 2|MPL[- ]?2", "MPL-2.0"),
    (r"Apache", "Apache-2.0"),
    (r"Python Software Foundation|PSF", "PSF-2.0"),
    (r"BSD[- ]2|2-Clause", "BSD-2-Clause"),
    (r"BSD|Redistribution and use in source and binary forms", "BSD-3-Clause"),
    (r"ISC", "ISC"),
    (r"\bMIT\b|Permission is hereby granted, free of charge", "MIT"),
    (r"CC0", "CC0-1.0"),
    (r"Unlicense", "Unlicense"),
    (r"zlib", "Zlib"),
)


def named(text: str) -> str:
    """Return the licence that a text names, empty where it names none that is known."""
    return next((spdx for words, spdx in WORDS if re.search(words, text, re.IGNORECASE)), "")


def licence(package: Distribution) -> str:
    """Return the licence of a package by its metadata: an expression, classifiers, words, the text itself."""
    about = package.metadata
    if about["License-Expression"]:
        return str(about["License-Expression"])
    classified = [c.rpartition("::")[2] for c in about.get_all("Classifier") or () if c.startswith("License")]
    found = {named(c) for c in classified} - {""}
    if found:
        return " OR ".join(sorted(found))
    texts = [str(about["License"] or "")]
    texts += [f.read_text() for f in package.files or () if re.match(r"(LICEN[CS]E|COPYING)", f.name, re.IGNORECASE)]
    return next((spdx for spdx in map(named, texts) if spdx), "unknown")


def allowed(expression: str) -> bool:
    """Return whether an expression allows it: one side of each OR, both sides of each AND."""
    bare = expression.replace("(", " ").replace(")", " ")
    return all(any(one.strip() in ALLOWED for one in part.split(" OR ")) for part in bare.split(" AND "))


def needed(extras: tuple[str, ...]) -> tuple[dict[str, Distribution], list[str]]:
    """Return drydown's packages and theirs, by name, as they are installed; and those that are not."""
    found: dict[str, Distribution] = {}
    missing: list[str] = []
    waiting = [("drydown", extras)]
    seen = set()
    while waiting:
        name, wanted = waiting.pop()
        key = re.sub(r"[-_.]+", "-", name).lower()
        if (key, wanted) in seen:
            continue
        seen.add((key, wanted))
        try:
            found[key] = package = distribution(name)
        except PackageNotFoundError:
            missing.append(name)
            continue
        for line in package.requires or ():
            given = Requirement(line)
            if given.marker is None or any(given.marker.evaluate({"extra": e}) for e in ("", *wanted)):
                waiting.append((given.name, tuple(sorted(given.extras))))
    return found, missing


def main(extras: tuple[str, ...]) -> int:
    """Check what runs with drydown, then what the extras given add."""
    running, missing = needed(tuple(e for e in extras if e in RUNNING))
    everything, more = needed(extras)
    wrong = [f"{name} is not installed, its licence is not known" for name in {*missing, *more}]
    for name, package in sorted(everything.items()):
        said = licence(package)
        apart = name not in running and name in APART
        print(f"{name} {package.version}: {said}{' (apart)' if apart else ''}")
        if not allowed(said) and not apart:
            where = "runs with drydown" if name in running else "name it in APART with the reason, or use another"
            wrong.append(f"{name} {package.version}: {said} is not allowed ({where})")
    print(f"{len(running)} packages run with drydown, {len(everything) - len(running)} more test and build it")
    for line in wrong:
        print(line, file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(tuple(sys.argv[1:])))
