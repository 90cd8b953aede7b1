"""Documents that the tests of all writers share, and a plain order to write one from another process."""

from sheets.drawings import ladder

from turnout_templates.sheets.blocks import TextBlock
from turnout_templates.sheets.front import AssemblyDimension
from turnout_templates.sheets.furniture import SheetTitles
from turnout_templates.sheets.layout import FrontMatter, lay_out_document
from turnout_templates.sheets.pages import Document
from turnout_templates.sheets.paper import paper_named
from turnout_templates.sheets.placing import place_sheets
from turnout_templates.sheets.plan import SheetPlan

TITLES = SheetTitles("Tamsin Quarry, east", "3", "1a2b-3c4d", "turnout-templates 0.1.0")
SPEC = "spec: 1\nname: Tamsin Quarry, east  # 2′ gauge ½\n".encode()
FRONT = FrontMatter(
    ("Wear eye protection when you cut metal.",),
    (AssemblyDimension("A", "B", 300.0),),
    (TextBlock("Findings", (("W1", "Too small by 0.3 mm.", "sheet 2"),)),),
)


def made(length: float = 1200.0, radius: float | None = 1600.0, paper: str = "A4") -> tuple[SheetPlan, Document]:
    drawing = ladder(length, radius)
    plan = place_sheets(drawing, paper=paper_named(paper))
    document = lay_out_document(
        plan,
        drawing,
        TITLES,
        FRONT,
        subject="Full-size template",
        keywords=("template", "full size"),
        attachments=(("tamsin.yaml", SPEC), ("a second file.txt", b"2")),
    )
    return plan, document


CURVED = made()
STRAIGHT = made(700.0, None, "Letter")
