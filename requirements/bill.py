"""The bill of materials of an installation list, in CycloneDX 1.6 (JSON): every package with its version, hashes and licence.

    python requirements/bill.py [requirements/run.txt] > bill.json

Names, versions and hashes come from the hashed list, licences from the installed packages where they state one. The same
list gives the same bytes. CycloneDX is an open standard (ECMA-424).
"""

from __future__ import annotations

import json
import re
import sys
from importlib import metadata
from pathlib import Path

from earthwright import __version__

ROOT = Path(__file__).parents[1]
_PINNED = re.compile(r"^([A-Za-z0-9._-]+)(?:\[[^\]]*\])?==([^\s;\\]+)")
_HASH = re.compile(r"--hash=sha256:([0-9a-f]{64})")


def pinned(text: str) -> list[tuple[str, str, list[str]]]:
    """Name, version and hashes of each package of a list. Raises ValueError for one that is not pinned or has no hash."""
    found: list[tuple[str, str, list[str]]] = []
    for line in text.splitlines():
        if match := _PINNED.match(line):
            found.append((match[1].lower().replace("_", "-"), match[2], []))
        elif line and not line.startswith((" ", "#", "-")):
            raise ValueError(f"not pinned: {line}")
        if found:
            found[-1][2].extend(_HASH.findall(line))
    if bare := [name for name, _, hashes in found if not hashes]:
        raise ValueError(f"without a hash: {', '.join(bare)}")
    return found


def licence(name: str) -> str:
    """What an installed package states; empty when it states nothing short, or is not installed."""
    try:
        stated = metadata.metadata(name)
    except metadata.PackageNotFoundError:
        return ""
    short = stated.get("License-Expression") or stated.get("License") or ""
    kinds = [c.rpartition(" :: ")[2] for c in stated.get_all("Classifier") or [] if c.startswith("License :: ")]
    return short if 0 < len(short) < 60 else ", ".join(kinds)


def bill(text: str) -> dict[str, object]:
    """The whole bill of one list."""
    parts = []
    for name, version, hashes in pinned(text):
        address = f"pkg:pypi/{name}@{version}"
        part: dict[str, object] = {
            "type": "library", "bom-ref": address, "name": name, "version": version, "purl": address,
            "properties": [{"name": "earthwright:sha256-of-a-file", "value": h} for h in sorted(hashes)],
        }  # fmt: skip
        if said := licence(name):
            part["licenses"] = [{"license": {"name": said}}]
        parts.append(part)
    own = {"type": "application", "bom-ref": "earthwright", "name": "earthwright", "version": __version__, "licenses": [{"license": {"id": "Apache-2.0"}}]}  # fmt: skip
    needs = [{"ref": "earthwright", "dependsOn": sorted(str(p["bom-ref"]) for p in parts)}]
    return {
        "bomFormat": "CycloneDX", "specVersion": "1.6", "version": 1, "metadata": {"component": own},
        "components": sorted(parts, key=lambda p: str(p["name"])), "dependencies": needs,
    }  # fmt: skip


if __name__ == "__main__":
    listed = Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "requirements" / "run.txt"
    print(json.dumps(bill(listed.read_text(encoding="utf-8")), ensure_ascii=False, indent=1))
