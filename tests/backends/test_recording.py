"""The recording: small enough to be read here whole, and the same choice of pieces as the files."""

import math

from backends.documents import CURVED

from turnout_templates.backends.recording import record_document
from turnout_templates.drawing.bounds import Box
from turnout_templates.drawing.items import Drawing, MarkItem, PathItem, Stroke, TextItem
from turnout_templates.geometry.pose import Placement
from turnout_templates.geometry.segments import LineSegment
from turnout_templates.sheets.pages import Document, Page, View


def test_a_recording_reads_as_this() -> None:
    line = PathItem((LineSegment((0.0, 0.0), (100.0, 0.0)),), Stroke(0.2), "lines", "R1")
    inside = MarkItem("cross", (5.0, 0.0), 2.0, "marks")
    outside = TextItem("too far", (90.0, 0.0), 3.0, "labels")
    view = View(Placement(math.pi / 2, 20.0, 5.0), Box(10.0, 0.0, 30.0, 40.0))
    survey = View(Placement(0.0, 0.0, 0.0), Box(0.0, 0.0, 50.0, 50.0), 0.25)
    own = (TextItem("title", (1.0, 1.0), 2.0, "titles"),)
    page = Page(50.0, 60.0, own, (view, survey), "Sheet 1", "Sheet 1 of 1")
    document = Document((page,), Drawing((line, inside, outside)), "T", attachments=(("s.yaml", b"abc"),), version="v")
    assert record_document(document) == (
        "document 'T' by 'v'\n"
        "attachment 's.yaml' 3 bytes\n"
        "page 'Sheet 1' 50 x 60 (Sheet 1 of 1)\n"
        " view turn=90 deg shift=(20 5) clip=(10 0 30 40)\n"
        "  path [lines/R1] line (20 5)(20 105) stroke=0.2\n"
        "  mark [marks] cross at (20 10) size=2 angle=1.570796 stroke=0.18\n"
        " view turn=0 deg shift=(0 0) scale=0.25 clip=(0 0 50 50)\n"
        "  1 items reduced\n"
        "  text [titles] 'title' at (1 1) size=2 angle=0 start\n"
    )


def test_a_document_records_the_same_twice_and_all_its_pages() -> None:
    _, document = CURVED
    said = record_document(document)
    assert said == record_document(document)
    assert said.count("\npage ") == len(document.pages)
