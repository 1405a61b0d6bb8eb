"""Writing what belongs to a debrief: the report, and the best line as a table or a track."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.course.earth import LocalPlane
from conewise.errors import InputError
from conewise.reports.files import refuse_unwritable, write_whole

if TYPE_CHECKING:
    from pathlib import Path

    from conewise.course.layout import Course
    from conewise.reports.debrief_answer import DebriefAnswer
    from conewise.reports.units import Units
    from conewise.runs import Trace


class NoAnchorError(InputError):
    """A track for a course that does not know where on earth it is."""

    code = "no-anchor"
    default_hint = "Give the course an anchor in its file, or write the line as .csv."

    def __init__(self, course: str) -> None:
        super().__init__(f"The course '{course}' has no anchor; a GPX track needs one.", where=course)


def refuse_debrief_files(*, report: Path | None, best: Path | None, pdf: Path | None = None) -> None:
    """Say before the work that a file cannot be written where it was asked for.

    Raises
    ------
    FileEndingError, UnwritableFileError
    """
    if report is not None:
        refuse_unwritable(report, "A report", ".html", ".htm")
    if best is not None:
        refuse_unwritable(best, "The best line", ".csv", ".gpx")
    if pdf is not None:
        refuse_unwritable(pdf, "A debrief sheet", ".pdf")


def write_debrief(  # one argument a file
    answer: DebriefAnswer,
    units: Units,
    *,
    report: Path | None = None,
    best: Path | None = None,
    pdf: Path | None = None,
    paper: str = "a4",
) -> None:
    """Write the report, the best line and the printed sheet, as far as a file is named for them.

    Raises
    ------
    NoAnchorError
        Where a track is asked for and the course has no anchor.
    UnwritableFileError
    """
    if best is not None:
        is_table = best.suffix.lower() == ".csv"
        text = line_table(answer.other) if is_table else line_track(answer.other, answer.geometry.course)
        write_whole(best, text.encode())
    if report is not None:
        from conewise.reports.debrief_report import debrief_html

        write_whole(report, debrief_html(answer, units).encode())
    if pdf is not None:
        from conewise.reports.debrief_pdf import debrief_pdf

        write_whole(pdf, debrief_pdf(answer, units, paper=paper))


def line_table(trace: Trace) -> str:
    """A run as a table: station, time, place, speed."""
    rows = ["station [m],time [s],x [m],y [m],speed [m/s]"]
    columns = (trace.station, trace.time, trace.x, trace.y, trace.speed)
    rows += [",".join(f"{value:.3f}" for value in values) for values in zip(*columns, strict=True)]
    return "\n".join(rows) + "\n"


def line_track(trace: Trace, course: Course) -> str:
    """A run as a GPX 1.1 track, places only.

    Raises
    ------
    NoAnchorError
    """
    from gpxpy.gpx import GPX, GPXTrack, GPXTrackPoint, GPXTrackSegment

    if course.site.anchor is None:
        raise NoAnchorError(course.name)
    plane = LocalPlane(course.site.anchor, course.site.heading_to_north)
    segment = GPXTrackSegment()
    for x, y in zip(trace.x, trace.y, strict=True):
        longitude, latitude = plane.to_earth((float(x), float(y)))
        segment.points.append(GPXTrackPoint(latitude=round(latitude, 9), longitude=round(longitude, 9)))
    gpx = GPX()
    gpx.creator = "conewise"
    gpx.tracks.append(GPXTrack(name=trace.name))
    gpx.tracks[0].segments.append(segment)
    return str(gpx.to_xml(version="1.1"))
