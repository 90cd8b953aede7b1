"""Make the pictures of README.md from pages that the program draws. Needs pdftoppm (poppler-utils).

python docs/make_pictures.py
"""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path

from turnout_templates.pipeline import PaperChoice, draw, work_out, write
from turnout_templates.spec.load import load_spec

HERE = Path(__file__).resolve().parent
SPEC = HERE.parent / "sample_specs" / "02-two-gauge-curve-narrow-leaves.yaml"

# name, page, dots per inch, and the crop in mm of the page (left, top, width, height), None for the whole page
PICTURES = (
    ("sheet", 3, 90, None),
    ("map", 2, 80, None),
    ("frogs", 3, 300, (180.0, 85.0, 85.0, 50.0)),
)


def main() -> None:
    """Draw the sample and turn the pages wanted into PNG."""
    drawn = draw(work_out(load_spec(SPEC)), PaperChoice("Letter"))
    with tempfile.TemporaryDirectory() as folder:
        pdf = Path(folder) / "sample.pdf"
        pdf.write_bytes(dict(write(drawn, ("pdf",), "sample"))["sample.pdf"])
        for name, page, dpi, crop in PICTURES:
            area = []
            if crop is not None:
                dots = [str(round(mm / 25.4 * dpi)) for mm in crop]
                area = [word for pair in zip(("-x", "-y", "-W", "-H"), dots, strict=True) for word in pair]
            command = [
                "pdftoppm",
                "-png",
                "-gray",
                "-singlefile",
                "-r",
                str(dpi),
                "-f",
                str(page),
                "-l",
                str(page),
                *area,
            ]
            subprocess.run([*command, str(pdf), str(HERE / "pictures" / name)], check=True)


if __name__ == "__main__":
    main()
