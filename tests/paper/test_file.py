"""The files themselves: what they carry, what they ask of a printer, and the same bytes every time."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest
from paper.reading import open_pdf
from paper.samples import drawn, written
from samples import FOLDER, SAMPLES, figures, sample_path

from turnout_templates.spec.load import load_spec, read_spec

every_sample = pytest.mark.parametrize("name", SAMPLES)


@every_sample
def test_the_pdf_carries_its_spec_and_that_loads_to_the_same(name: str) -> None:
    with open_pdf(written(name, "pdf", None)["sample.pdf"]) as pdf:
        carried = pdf.attachments["spec.yaml"].get_file().read_bytes()
    assert carried == sample_path(name).read_bytes()
    again = read_spec(carried.decode("utf-8"), file="spec.yaml", folder=FOLDER)
    assert again.spec.fingerprint == figures(name)["fingerprint"]


@every_sample
def test_a_pdf_alone_is_enough_to_draw_it_again(name: str) -> None:
    """Whoever gets the PDF has not got the base that its spec builds on."""
    with open_pdf(written(name, "pdf", None)["sample.pdf"]) as pdf:
        carried = {file: pdf.attachments[file].get_file().read_bytes() for file in pdf.attachments}
    has_base = b"\nbase:" in carried["spec.yaml"]
    assert set(carried) == ({"spec.yaml", "whole-spec.yaml"} if has_base else {"spec.yaml"})
    alone = carried["whole-spec.yaml" if has_base else "spec.yaml"].decode("utf-8")
    assert read_spec(alone, file="alone.yaml", folder=None).spec.fingerprint == figures(name)["fingerprint"]


@every_sample
@pytest.mark.parametrize("form", ["svg", "sheets"])
def test_an_svg_alone_is_enough_to_draw_it_again(name: str, form: str, tmp_path: Path) -> None:
    """Each carries what the PDF does; saved by itself in an empty folder it is the same spec."""
    with open_pdf(written(name, "pdf", None)["sample.pdf"]) as pdf:
        carried = {file: pdf.attachments[file].get_file().read_bytes() for file in pdf.attachments}
    for file, content in written(name, form, None).items():
        text = ElementTree.fromstring(content).findtext("{http://www.w3.org/2000/svg}metadata") or ""
        assert text.encode() == carried.get("whole-spec.yaml", carried["spec.yaml"])
        alone = tmp_path / file / "alone.yaml"
        alone.parent.mkdir()
        alone.write_text(text, encoding="utf-8")
        assert load_spec(alone).spec.fingerprint == figures(name)["fingerprint"]


@every_sample
def test_the_pdf_asks_not_to_be_scaled_and_carries_its_letters(name: str) -> None:
    with open_pdf(written(name, "pdf", None)["sample.pdf"]) as pdf:
        assert str(pdf.Root.ViewerPreferences.PrintScaling) == "/None"
        assert str(pdf.docinfo["/Title"]) == figures(name)["name"]
        assert len(pdf.pages) == len(drawn(name, None).document.pages)
        for page in pdf.pages:
            assert page.Resources.get("/XObject") is None
            for font in page.Resources.Font.values():
                assert len(font.FontDescriptor.FontFile2.read_bytes()) > 1000, font.BaseFont


@pytest.mark.parametrize("name", ["02-two-gauge-curve-narrow-leaves", "08-h0-h0e"])
def test_another_process_with_another_hash_seed_writes_the_same_bytes(name: str, tmp_path: Path) -> None:
    files = []
    for seed in ("1", "77"):
        folder = tmp_path / seed
        command = [sys.executable, "-m", "turnout_templates", "draw", str(sample_path(name)), "--out", str(folder)]
        formats = [word for form in ("pdf", "svg", "sheets") for word in ("--format", form)]
        run = subprocess.run(
            [*command, *formats],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=False,
        )
        assert run.returncode == 0, run.stderr
        files.append({path.name: path.read_bytes() for path in folder.iterdir()})
    assert files[0] == files[1]
    labels = [page.label for page in drawn(name, None).document.pages]
    assert len(files[0]) == 2 + sum(label.startswith(("Sheet ", "Underside ")) for label in labels)
    # And this process, with a seed of its own.
    for form, ending in (("pdf", ".pdf"), ("svg", ".svg")):
        (content,) = written(name, form, None).values()
        assert files[0][f"{Path(name).name}{ending}"] == content
