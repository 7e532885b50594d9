"""A ward's own figures beside published ones as a sheet, a row for each published figure."""

from collections.abc import Iterable, Mapping

from server.domain.review.audits import Audit
from server.domain.review.beside import Figures
from server.domain.review.share import Share
from server.exchange.sheets.common import Maker
from server.exchange.sheets.rate_sheet import WILSON, ends, percent
from server.exchange.sheets.sheet import Cells, Column, Shape, Sheet


def audit_sheet(
    maker: Maker,
    audits: Iterable[Audit],
    figures: Figures,
    words: Mapping[str, str],
    only: tuple[str, ...],
) -> Sheet:
    """The sheet of these audits; `words` say each measure to people."""
    about = maker.about("The ward’s own figures beside published ones", only)
    columns = (
        Column("measure", "Figure", words=words),
        Column("own_percent", "This ward", Shape.NUMBER, "%"),
        Column("own_count", "This ward, count", Shape.NUMBER),
        Column("own_of", "This ward, of", Shape.NUMBER),
        Column("own_low_percent", "This ward, from", Shape.NUMBER, "%", source=WILSON),
        Column("own_high_percent", "This ward, to", Shape.NUMBER, "%", source=WILSON),
        Column("differs", "How the ward’s own is counted differently"),
        Column("low_percent", "Published, lowest", Shape.NUMBER, "%"),
        Column("high_percent", "Published, highest", Shape.NUMBER, "%"),
        Column("of", "Published, of", Shape.NUMBER, note="Empty: not given, or not known"),
        Column("of_what", "Of what"),
        Column("counted", "What was counted"),
        Column("place", "Where"),
        Column("year", "Year", Shape.NUMBER, note="Of the data, else of the publication"),
        Column("source", "Source"),
        Column("is_verified", "Read in the original", Shape.YES_NO),
    )
    rows = (_row(one, figures.own(one.measure)) for one in audits)
    return Sheet("published", about, columns, rows)


def _row(audit: Audit, own: Share) -> Cells:
    return (
        audit.measure.value,
        percent(own.part),
        own.count,
        own.of,
        *ends(own.interval),
        audit.differs,
        percent(audit.low),
        percent(audit.high),
        audit.of,
        audit.of_what,
        audit.counted,
        audit.place,
        audit.year,
        audit.source,
        audit.verified,
    )
