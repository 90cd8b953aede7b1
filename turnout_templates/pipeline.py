"""The stages in order, from the text of a spec to values and files; every product between is kept.

    spec text -> Spec -> Layout -> Trackwork -> Findings -> Drawing -> Sheets -> files

Each stage knows only what is left of it. A stage further right is imported when it is reached, so that what only
measures never loads a writer.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, get_args

from msgspec import Struct

from turnout_templates import __version__
from turnout_templates.errors import InputProblems, LayoutError
from turnout_templates.spec.load import LocatedSpec, load_spec, read_spec

if TYPE_CHECKING:
    from turnout_templates.alignment.model import Layout
    from turnout_templates.checks.finding import Finding
    from turnout_templates.drawing.items import Drawing
    from turnout_templates.reports.block import Block
    from turnout_templates.sheets.blocks import TextBlock
    from turnout_templates.sheets.furniture import SheetTitles
    from turnout_templates.sheets.layout import FrontMatter
    from turnout_templates.sheets.pages import Document, Page
    from turnout_templates.sheets.paper import Margins, Orientation, Paper
    from turnout_templates.sheets.plan import SheetPlan
    from turnout_templates.sheets.proof import SeamProof
    from turnout_templates.spec.model import Spec
    from turnout_templates.trackwork.model import Trackwork


class Job(Struct, frozen=True):
    """One spec worked out: every product up to the findings."""

    located: LocatedSpec
    layout: Layout
    trackwork: Trackwork
    findings: tuple[Finding, ...]

    @property
    def spec(self) -> Spec:
        """The spec itself."""
        return self.located.spec

    @property
    def has_errors(self) -> bool:
        """Tell whether a finding says that it will not run as drawn."""
        return any(finding.level == "error" for finding in self.findings)


def work_out(located: LocatedSpec) -> Job:
    """Return the trackwork and the findings of a spec. Raises InputProblems where it can't be laid."""
    from turnout_templates.alignment.lay_out import lay_out_routes
    from turnout_templates.checks.check import check_trackwork
    from turnout_templates.trackwork.build import build_trackwork

    try:
        layout = lay_out_routes(located.spec)
        trackwork = build_trackwork(located.spec, layout)
    except LayoutError as error:
        raise InputProblems([located.problem(error)]) from error
    return Job(located, layout, trackwork, check_trackwork(trackwork))


def measure(job: Job) -> dict[str, Any]:
    """Return the figures of a job (see `reports.figures`)."""
    from turnout_templates.reports.figures import figures

    return figures(job.trackwork, job.findings)


def measure_text(text: str, file: str = "spec.yaml", folder: Path | None = None) -> dict[str, Any]:
    """Return the figures of the spec that `text` is; `file` is what messages call it. Raises InputProblems."""
    return measure(work_out(read_spec(text, file=file, folder=folder)))


def measure_file(path: Path) -> dict[str, Any]:
    """Return the figures of the spec in the file `path`. Raises InputProblems."""
    return measure(work_out(load_spec(path)))


class PaperChoice(Struct, frozen=True):
    """What to print on: a paper's `name` (None takes the one that goes with the spec's units) and how it is held."""

    name: str | None = None
    orientation: Literal["auto", "portrait", "landscape"] = "auto"
    margin: float = 10.0
    overlap: float = 10.0


class Drawn(Struct, frozen=True):
    """A drawn job: the `job`, its `drawing`, the `plan` of its sheets and the `document` to be written."""

    job: Job
    drawing: Drawing
    plan: SheetPlan
    document: Document

    @property
    def has_first_page(self) -> bool:
        """Tell whether the document begins with the page to print first."""
        return self.document.pages[0].label == "Print first"


def paper_for(job: Job, choice: PaperChoice) -> tuple[Paper, Margins]:
    """Return the paper and the margins of a job: what was chosen, else what goes with its units. Raises PaperError."""
    from turnout_templates.sheets.paper import Margins, paper_named

    return paper_named(choice.name or _PAPER_OF_UNITS[job.spec.units]), Margins(*[choice.margin] * 4)


def least_sheets(job: Job, choice: PaperChoice) -> int:
    """Return a number of sheets that a job surely needs, found at once; it may need more. Raises PaperError."""
    from turnout_templates.drafting.extent import points_to_show
    from turnout_templates.sheets import least
    from turnout_templates.sheets.plan import frame_on

    paper, margins = paper_for(job, choice)
    ways: tuple[Orientation, ...] = ("portrait", "landscape") if choice.orientation == "auto" else (choice.orientation,)
    frames = [frame_on(*paper.page_size(way), margins) for way in ways]
    reach = max(math.hypot(frame.width, frame.height) for frame in frames)
    return least.least_sheets(points_to_show(job.trackwork, reach / _POINTS_TO_REACH), reach)


Part = Literal[
    "first-page", "map", "details", "rails", "cut-list", "build-sheet", "wiring", "gauging-record", "underside"
]
PARTS: tuple[Part, ...] = get_args(Part)
"""What comes before the sheets and after them, each of which may be left out."""


def draw(job: Job, choice: PaperChoice = PaperChoice(), *, without: Collection[Part] = ()) -> Drawn:
    """Return the drawing of a job laid out on paper, `without` some parts. Raises PaperError for unusable paper."""
    from turnout_templates.drafting.draft import draft_drawing
    from turnout_templates.sheets.layout import lay_out_document
    from turnout_templates.sheets.placing import place_sheets

    paper, margins = paper_for(job, choice)
    drawing = draft_drawing(job.trackwork, job.findings)
    plan = place_sheets(drawing, paper=paper, orientation=choice.orientation, margins=margins, overlap=choice.overlap)
    document = lay_out_document(
        plan,
        drawing,
        _titles(job),
        _front_matter(job, plan, without),
        more_pages=_more_pages(job, plan, without),
        last_pages=() if "underside" in without else _underside_pages(job, plan),
        subject="Full-size construction template",
        attachments=_attachments(job),
    )
    return Drawn(job, drawing, plan, document)


def _more_pages(job: Job, plan: SheetPlan, without: Collection[Part]) -> tuple[Page, ...]:
    """Return the enlarged details, then the chapters, but for those left out."""
    from turnout_templates.reports.chapters import chapters
    from turnout_templates.sheets.chapters import Chapter, chapter_pages

    details = () if "details" in without else _detail_pages(job, plan)
    told = [
        Chapter(chapter.heading, _as_text_blocks(chapter.make(job.trackwork, job.findings)), chapter.in_turn)
        for chapter in chapters(is_joined=len(plan.sheets) > 1)
        if chapter.part not in without
    ]
    return (*details, *chapter_pages(plan, _titles(job), told))


def _as_text_blocks(blocks: Sequence[Block]) -> tuple[TextBlock, ...]:
    from turnout_templates.sheets.blocks import TextBlock

    return tuple(
        TextBlock(
            block.title, block.rows, block.has_head, block.leads, block.row_height, block.fill_in, block.least_row
        )
        for block in blocks
    )


def _detail_pages(job: Job, plan: SheetPlan) -> tuple[Page, ...]:
    """Return the pages that show each frog and each switch enlarged."""
    from turnout_templates.drafting.details import draft_details
    from turnout_templates.sheets.details import detail_pages, detail_room

    return detail_pages(plan, _titles(job), draft_details(job.trackwork, *detail_room(plan)))


def _underside_pages(job: Job, plan: SheetPlan) -> tuple[Page, ...]:
    """Return the pages to be fixed under the board; none where nothing is to be done there."""
    if not job.trackwork.wiring.feeders and all(made.bar is None for made in job.trackwork.switch_works):
        return ()
    from turnout_templates.drafting.underside import draft_sheets_below, draft_underside
    from turnout_templates.sheets.underside import sheets_below, underside_pages

    drawing = draft_underside(job.trackwork)
    below = sheets_below(plan, drawing)
    own = draft_sheets_below(job.trackwork, below)
    return underside_pages(plan, below, drawing, own, _titles(job))


def _attachments(job: Job) -> tuple[tuple[str, bytes], ...]:
    """Return the spec as it was written, and where it builds on a base also as one file that stands alone."""
    written = (SPEC_ATTACHMENT, job.spec.text.encode())
    return (written, (WHOLE_SPEC_ATTACHMENT, _text_alone(job).encode())) if _has_base(job) else (written,)


def _has_base(job: Job) -> bool:
    return "base" in job.located.positions.entries


def _text_alone(job: Job) -> str:
    """Return the text of a spec that needs no other file: as it was written, or with its bases written out."""
    from turnout_templates.spec.writing import expanded_yaml

    return expanded_yaml(job.located) if _has_base(job) else job.spec.text


def _titles(job: Job) -> SheetTitles:
    from turnout_templates.sheets.furniture import SheetTitles

    stamp = "will not run as drawn: see the findings" if job.has_errors else ""
    spec = job.spec
    return SheetTitles(spec.name, spec.revision, spec.fingerprint, f"turnout-templates {__version__}", stamp)


def _front_matter(job: Job, plan: SheetPlan, without: Collection[Part]) -> FrontMatter:
    from turnout_templates.reports.cautions import CAUTIONS
    from turnout_templates.reports.dimensions import assembly_dimensions
    from turnout_templates.reports.leading import leading_blocks
    from turnout_templates.sheets.front import AssemblyDimension
    from turnout_templates.sheets.layout import FrontMatter

    dimensions = [AssemblyDimension(d.start, d.end, d.length) for d in assembly_dimensions(job.trackwork)]
    leading = leading_blocks(job.trackwork, job.findings, is_joined=len(plan.sheets) > 1)
    has_map = "map" not in without
    return FrontMatter(
        CAUTIONS,
        tuple(dimensions),
        _as_text_blocks(leading),
        _seam_proofs(job, plan) if has_map else (),
        first_page="first-page" not in without,
        map=has_map,
        inches_first=job.spec.units == "in",
    )


def _seam_proofs(job: Job, plan: SheetPlan) -> tuple[SeamProof, ...]:
    """Return the lengths that prove the sheets joined, so that rails and ties lie right."""
    if len(plan.sheets) < 2:
        return ()
    from turnout_templates.drafting.extent import points_to_show
    from turnout_templates.sheets.proof import prove_seams

    return prove_seams(plan, list(points_to_show(job.trackwork, _PROOF_STEP)))


def write(drawn: Drawn, forms: Sequence[str], stem: str) -> Iterator[tuple[str, bytes]]:
    """Yield (file name, content) for each of the `forms` asked for.

    They are "pdf", "svg" (whole, as seen from above), "sheets" (an SVG a sheet, those for the underside too) and
    "cut-list" (a table as CSV and as JSON).
    """
    for form in forms:
        yield from _WRITERS[form](drawn, stem)


def _write_pdf(drawn: Drawn, stem: str) -> Iterator[tuple[str, bytes]]:
    from turnout_templates.backends.pdf import write_pdf

    yield f"{stem}.pdf", write_pdf(drawn.document)


def _write_svg(drawn: Drawn, stem: str) -> Iterator[tuple[str, bytes]]:
    from turnout_templates.backends.svg import write_svg

    spec = drawn.job.spec
    yield f"{stem}.svg", write_svg(drawn.drawing, spec.name, _titles(drawn.job).line, _text_alone(drawn.job))


def _write_sheets(drawn: Drawn, stem: str) -> Iterator[tuple[str, bytes]]:
    from turnout_templates.backends.svg import write_sheet_svg

    spec_text = _text_alone(drawn.job)
    for page in drawn.document.pages:
        kind, _, number = page.label.partition(" ")
        if kind in ("Sheet", "Underside"):
            yield f"{stem}-{kind.lower()}-{int(number):02d}.svg", write_sheet_svg(drawn.document, page, spec_text)


def _write_cut_list(drawn: Drawn, stem: str) -> Iterator[tuple[str, bytes]]:
    from turnout_templates.reports.cut_tables import cut_list_csv, cut_list_json

    yield f"{stem}-cut-list.csv", cut_list_csv(drawn.job.trackwork)
    yield f"{stem}-cut-list.json", cut_list_json(drawn.job.trackwork)


_WRITERS: dict[str, Callable[[Drawn, str], Iterator[tuple[str, bytes]]]] = {
    "pdf": _write_pdf,
    "svg": _write_svg,
    "sheets": _write_sheets,
    "cut-list": _write_cut_list,
}
FORMS = tuple(_WRITERS)
"""The forms that `write` knows."""
SPEC_ATTACHMENT = "spec.yaml"
"""The name under which a PDF carries the spec it was drawn from."""
WHOLE_SPEC_ATTACHMENT = "whole-spec.yaml"
"""The name under which it carries that spec with its bases written out."""
_POINTS_TO_REACH = 16
"""Points looked at over the longest reach of a sheet: of a straight rail a sixteenth may be lost in counting."""
_PROOF_STEP = 100.0
"""Distance in mm of the points on rails and ties that joining must keep: the furthest of them lie at ties' corners."""
_PAPER_OF_UNITS = {"mm": "A4", "in": "Letter"}
