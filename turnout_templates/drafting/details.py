"""Turn trackwork into enlarged details: each frog and each switch by itself, with the lengths that it is filed to.

What is drawn is what the sheets show, by the same hands, cut out round the place and made larger. Nothing is at size,
and every title says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from turnout_templates.drafting import styles
from turnout_templates.drafting.alike import group_alike
from turnout_templates.drafting.around import Surroundings
from turnout_templates.drafting.base_words import BaseWords
from turnout_templates.drafting.bases import draw_bases
from turnout_templates.drafting.detail_names import name_parts
from turnout_templates.drafting.frog_details import frog_subject
from turnout_templates.drafting.joints import draw_joints
from turnout_templates.drafting.rails import draw_rails
from turnout_templates.drafting.subjects import Subject, told_of_all
from turnout_templates.drafting.switch_details import switch_subject
from turnout_templates.drafting.switches import throw_bar, thrown_position
from turnout_templates.drawing.bounds import Box, bounds_of, points_box
from turnout_templates.drawing.details import Detail, enlarged, half_width
from turnout_templates.drawing.dimensions import ROW, Span, draw_spans, row_space
from turnout_templates.drawing.items import Drawing, Item, MarkItem, RegionItem
from turnout_templates.geometry.pose import Placement, Point
from turnout_templates.geometry.segments import polyline
from turnout_templates.trackwork.model import Trackwork

FACTORS = (4.0, 3.0, 2.5, 2.0)
"""How many times larger a detail may be, the largest first: round enlargements of drawing practice (no source)."""
NOT_TO_SIZE = "not to size"
_EDGE, _ASIDE = 4.0, 2.0
"""What is shown beyond the places that matter, mm as printed: ahead and behind, and to either side, where numbers of
ties still have room."""
_LEAST_SEEN = 1.5
"""A joint or a gap nearer than this (mm as printed) to the edge of a detail is left out: nobody could make it out."""
_TALLEST = 0.33
"""The most of a page's height that an enlarged strip may take where the enlargement is chosen."""
_UTMOST = 0.6
"""The most that it may take where even the least enlargement needs more: wide gauges on small paper."""
_WORTH = 3.0
"""A detail that is made at least so much larger in half the page's width does not take all of it."""


def draft_details(work: Trackwork, width: float, height: float) -> tuple[Detail, ...]:
    """Return the details of all frogs, then of all switches, each at most `width` by `height` mm as printed.

    Alike ones are drawn once. Those of a kind have one enlargement: the largest at which each of them fits.
    """
    around = Surroundings(work)
    bases = BaseWords(work)
    subjects = [frog_subject(around, bases, frog) for frog in work.frogs]
    subjects += [switch_subject(around, bases, switch) for switch in work.switches]
    groups = group_alike(subjects)
    sizes: dict[str, tuple[float, float]] = {}
    for subject, *_ in groups:
        size = _size(subject, width, height)
        sizes[subject.kind] = min(size, sizes.get(subject.kind, size))
    return tuple(_detail(group, sizes[group[0].kind][1], width, height) for group in groups)


def _size(subject: Subject, width: float, height: float) -> tuple[float, float]:
    """Return how much of the page's width a detail is worth, negative, and its enlargement: the best comes last.

    That is the largest at which all that matters fits half of the width with its texts, else the whole of it.
    """
    box = _box(subject.reach, subject)
    for room in (half_width(width), width):
        for factor in FACTORS:
            is_low = box.height * factor + 2 * _ASIDE <= _TALLEST * height
            if not is_low or box.width * factor + 2 * _EDGE > room or (room < width and factor < _WORTH):
                continue
            if room == width or not _texts(subject, factor, room, height)[1]:
                return -room, factor
    return -width, FACTORS[-1]


def _texts(subject: Subject, factor: float, room: float, height: float) -> tuple[tuple[Item, ...], int]:
    """Return the dimension lines of a detail in a part of the page's width, and how many found no room."""
    window, _ = _window(subject, factor, room, height)
    return _notes([_shown(span, subject, factor) for span in subject.spans], window, (room,), height)


def _box(points: Sequence[Point], subject: Subject) -> Box:
    return points_box(subject.pose.local(point) for point in points)


def _detail(group: Sequence[Subject], factor: float, width: float, height: float) -> Detail:
    """Return the detail of a group of alike subjects, drawn as the first of them."""
    subject = group[0]
    window, is_cut = _window(subject, factor, width, height)
    placement = Placement(subject.pose.heading, subject.pose.x, subject.pose.y).inverse()
    spans = [_shown(span, subject, factor) for span in subject.spans]
    inside = [span for span in spans if _lies_in(span, window)]
    notes, missing = _notes(inside, window, (half_width(width), width), height)
    window = _widened(window, subject, factor, notes, width)
    subject = replace(subject, work=_with_joints_within(subject, factor, window.grown(-_LEAST_SEEN)))
    drawing = [enlarged(item, placement, factor) for item in _draw(subject.work)]
    drawing += name_parts(subject, factor, window, notes)
    title = _title(group, factor, is_cut=is_cut, left_out=missing + len(spans) - len(inside))
    remarks = "; ".join(map(told_of_all, zip(*(member.remarks for member in group), strict=True)))
    sentence = f"{remarks[:1].upper()}{remarks[1:]}." if remarks else ""
    return Detail(title, Drawing(tuple(drawing)), window, notes, sentence)


def _notes(spans: Sequence[Span], window: Box, widths: Sequence[float], height: float) -> tuple[tuple[Item, ...], int]:
    """Return the dimension lines round a window, no wider than need be, and how many found no room even so."""
    rows = max(0, int((height - window.height - 2 * row_space(0)) / 2 / ROW))
    notes: tuple[Item, ...] = ()
    missing = len(spans)
    for wide in widths:
        half = min(max(window.width, wide), widths[-1]) / 2
        middle = window.centre[0]
        notes, missing = draw_spans(spans, window, left=middle - half, right=middle + half, rows=rows)
        if not missing:
            break
    return notes, missing


def _window(subject: Subject, factor: float, width: float, height: float) -> tuple[Box, bool]:
    """Return what is shown, mm as printed, and whether it had to be cut short for the paper."""
    wanted, least = _scaled(_box(subject.reach, subject), factor), _scaled(_box(subject.least, subject), factor)
    box = Box(wanted.left - _EDGE, wanted.bottom - _ASIDE, wanted.right + _EDGE, wanted.top + _ASIDE)
    most = (width, _UTMOST * height)
    is_cut = box.width > most[0] or box.height > most[1]
    if box.width > most[0]:
        box = Box(least.left, box.bottom, min(least.right, least.left + most[0]), box.top)
    if box.height > most[1]:
        box = Box(box.left, -most[1] / 2, box.right, most[1] / 2)
    return box, is_cut


def _widened(window: Box, subject: Subject, factor: float, notes: Sequence[Item], width: float) -> Box:
    """Return a window widened to what is wished to be seen, where the detail stays within half the page's width.

    Else only to either side where its notes are as wide.
    """
    if not subject.wished or not notes:
        return window
    wished, around = _scaled(_box(subject.wished, subject), factor), bounds_of(notes)
    left, right = min(window.left, wished.left), max(window.right, wished.right)
    if max(right, around.right) - min(left, around.left) > half_width(width):
        left = left if left >= around.left else window.left
        right = right if right <= around.right else window.right
    return Box(left, window.bottom, right, window.top)


def _with_joints_within(subject: Subject, factor: float, window: Box) -> Trackwork:
    """Return what lies round a subject without the joints and gaps beyond a window, of which an edge might show."""
    work = subject.work
    points = [(joint, subject.pose.local(joint.point)) for joint in work.joints]
    seen = tuple(joint for joint, (x, y) in points if window.holds(points_box([(x * factor, y * factor)])))
    return replace(work, rail_cuts=replace(work.rail_cuts, joints=seen))


def _scaled(box: Box, factor: float) -> Box:
    return Box(box.left * factor, box.bottom * factor, box.right * factor, box.top * factor)


def _shown(span: Span, subject: Subject, factor: float) -> Span:
    """Return a span with its ends as printed."""
    ends = [(x * factor, y * factor) for x, y in map(subject.pose.local, (span.start, span.end))]
    return replace(span, start=ends[0], end=ends[1])


def _lies_in(span: Span, window: Box) -> bool:
    return window.holds(points_box((span.start, span.end)))


def _title(group: Sequence[Subject], factor: float, *, is_cut: bool, left_out: int) -> str:
    """Return what stands over a detail."""
    subject = group[0]
    ids = ", ".join(member.id for member in group)
    words = told_of_all([member.words for member in group])
    parts = [f"{ids}, {words}", f"enlarged {factor:g}:1", NOT_TO_SIZE]
    if len(group) > 1:
        parts.append(f"all alike; rails, ties and gaps as at {subject.id}")
    if is_cut:
        parts.append("cut short: larger paper shows all" if subject.kind != "switch" else "to just past full head")
    elif left_out:
        parts.append(f"{left_out} more length{'s' if left_out > 1 else ''} on larger paper")
    return " · ".join(parts)


def _draw(work: Trackwork) -> Iterator[Item]:
    """Yield everything round a subject, at full size."""
    for tie in work.ties:
        ring = polyline(tie.corners(), closed=True)
        yield RegionItem((ring,), styles.NO_FILL, styles.TIE_EDGE, styles.TIES, f"tie {tie.id}")
    yield from draw_rails(work)
    yield from draw_bases(work)
    yield from draw_joints(work)
    for switch, made in work.works():
        if made.bar is not None:
            yield from throw_bar(switch, made.bar)
        for point in switch.points:
            yield from thrown_position(work, switch, point)
    for frog in work.frogs:
        yield MarkItem("cross", frog.point, 3.0, styles.FROGS, frog.heading, styles.MARK, frog.id)
        if frog.practical:
            yield MarkItem("ring", frog.practical, 0.8, styles.FROGS, frog.heading, styles.MARK, frog.id)
