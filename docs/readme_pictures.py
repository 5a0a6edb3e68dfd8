"""Makes the pictures of README.md from the demo visit, so that they cannot go stale. Run: python docs/readme_pictures.py."""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path

from earthwright.desk.demo import judge_demo
from earthwright.paper.earthmap import earth_map
from earthwright.paper.pdf import bonding_record

OUT = Path(__file__).parent / "pictures"


def main() -> None:
    """Writes the earth map as SVG and the pages of the record as PNG."""
    judged = judge_demo()
    OUT.mkdir(exist_ok=True)
    (OUT / "earth-map.svg").write_text(earth_map(judged), encoding="utf-8")
    with tempfile.TemporaryDirectory() as folder:
        pdf = Path(folder) / "record.pdf"
        pdf.write_bytes(bonding_record(judged))
        subprocess.run(["pdftoppm", "-r", "70", "-png", str(pdf), str(OUT / "record")], check=True)


if __name__ == "__main__":
    main()
