"""Read a label: what it says, and its instants by the clocks of a ward."""

from dataclasses import dataclass
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from server.domain.label_attributes import attributes_of
from server.domain.labels import (
    Division,
    Expiry,
    Group,
    PatientBirthDate,
    PatientId,
    Product,
    ProviderNumber,
    RecipientNumber,
    RecordNumber,
    Scan,
    StaffNumber,
    UnitNumber,
    read_scan,
)
from server.services.actor import Actor
from server.services.errors import NotFound
from server.services.permissions import Act, require
from server.store.sessions import ReadSession
from server.store.wards import read_ward


@dataclass(frozen=True, slots=True)
class Label:
    """A scan. `expires_at` is in UTC, and None without a ward whose clocks the label means.

    `attributes` are what it shows of the bag, by name.
    """

    scan: Scan
    expires_at: datetime | None = None
    attributes: tuple[str, ...] = ()

    @property
    def unit_number(self) -> UnitNumber | None:
        """The number of the bag."""
        return self.scan.find(UnitNumber)

    @property
    def product(self) -> Product | None:
        """What is in the bag."""
        return self.scan.find(Product)

    @property
    def division(self) -> str | None:
        """Which pack of the product it is."""
        apart = self.scan.find(Division)
        if apart is not None:
            return apart.code
        return None if self.product is None else self.product.division

    @property
    def group(self) -> Group | None:
        """ABO and RhD of the bag."""
        return self.scan.find(Group)

    @property
    def expiry(self) -> Expiry | None:
        """Until when the bag may be given."""
        return self.scan.find(Expiry)

    @property
    def record_number(self) -> str | None:
        """The patient's record number."""
        plain, coded = self.scan.find(RecordNumber), self.scan.find(PatientId)
        if plain is not None:
            return plain.text
        return None if coded is None else coded.number

    @property
    def birth_date(self) -> date | None:
        """The patient's date of birth."""
        found = self.scan.find(PatientBirthDate)
        return None if found is None else found.date

    @property
    def recipient_number(self) -> str | None:
        """The patient's GS1 service relation number."""
        found = self.scan.find(RecipientNumber)
        return None if found is None else found.gsrn

    @property
    def staff_number(self) -> str | None:
        """The number on a badge."""
        badge, coded = self.scan.find(ProviderNumber), self.scan.find(StaffNumber)
        if badge is not None:
            return badge.gsrn
        return None if coded is None else coded.number

    @property
    def stops(self) -> tuple[str, ...]:
        """Why the bag must not be given as it is; each reason once."""
        found = (self.unit_number, self.group, self.product)
        reasons = (one.stops for one in found if one is not None)
        return tuple(dict.fromkeys(reason for reason in reasons if reason))


def read_label(
    session: ReadSession, actor: Actor, scan: str, *, ward_id: str | None = None
) -> Label:
    """Read what a scanner sent; plain record numbers are those that the site says it has.

    Raises `Forbidden`, `NotFound`, `Invalid("scan", …)`.
    """
    require(actor, Act.READ, ward_id)
    read = read_scan(scan, session.site.record_number)
    expiry, shown = read.find(Expiry), attributes_of(read.structures, session.site)
    if ward_id is None:
        return Label(read, attributes=shown)
    ward = read_ward(session, ward_id)
    if ward is None:
        raise NotFound("the ward")
    zone = ZoneInfo(ward.timezone)
    return Label(read, None if expiry is None else instant_on_ward(expiry.at, zone), shown)


def instant_on_ward(local: datetime, zone: ZoneInfo) -> datetime:
    """The instant in UTC that a label means by its wall time, the earlier of two where there are.

    In the night of a clock change a wall time can be shown twice or never: too early is safe.
    """
    return min(local.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
