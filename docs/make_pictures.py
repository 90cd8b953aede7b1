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

# name, label of the page, dots per inch, and the crop in mm of the page (left, top, width, height), None for all of it
PICTURES = (
    ("sheet", "Sheet 1", 90, None),
    ("map", "Map", 80, None),
    ("details", "Details 1", 90, None),
    ("frogs", "Sheet 1", 300, (175.0, 101.0, 85.0, 40.0)),
)


def main() -> None:
    """Draw the sample and turn the pages wanted into PNG."""
    drawn = draw(work_out(load_spec(SPEC)), PaperChoice("Letter"))
    with tempfile.TemporaryDirectory() as folder:
        pdf = Path(folder) / "sample.pdf"
        pdf.write_bytes(dict(write(drawn, ("pdf",), "sample"))["sample.pdf"])
        labels = [page.label for page in drawn.document.pages]
        for name, label, dpi, crop in PICTURES:
            page = labels.index(label) + 1
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
