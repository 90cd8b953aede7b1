"""The stages in order, from the text of a spec to values and files; every product between is kept.

    spec text -> Spec -> Layout -> Trackwork -> Findings -> Drawing -> Sheets -> files

Each stage knows only what is left of it. A stage further right is imported when it is reached, so that what only
measures never loads a writer.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from turnout_templates.errors import InputProblems, LayoutError
from turnout_templates.spec.load import LocatedSpec, load_spec, read_spec

if TYPE_CHECKING:
    from turnout_templates.alignment.model import Layout
    from turnout_templates.checks.finding import Finding
    from turnout_templates.spec.model import Spec
    from turnout_templates.trackwork.model import Trackwork


@dataclass(frozen=True, slots=True)
class Job:
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
    except LayoutError as error:
        raise InputProblems([located.problem(error)]) from error
    trackwork = build_trackwork(located.spec, layout)
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
