"""The catalogue's format: what an author may write, field by field.

The classes below are the format. They are checked strictly (a number is a number, a word is
a word), they refuse fields they do not know, and they are frozen once read. The text below a field
is what editors and `docs/format.md` say about it (`sitegen.catalogue.json_schema`).

Names in the YAML are kebab-case (`fitted-to`); here they are the same words with underscores.
Rules that need more than one record (does this bus exist?) live in `sitegen.catalogue.checks`.

Over 400 lines: it is the whole format.
"""

from __future__ import annotations

import datetime
import re
from functools import lru_cache
from typing import Annotated, Any, Literal, get_args

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    PlainSerializer,
    StringConstraints,
    Tag,
    model_validator,
)
from pydantic_core import PydanticCustomError

from sitegen.catalogue.characters import VISIBLE
from sitegen.catalogue.kinds import DeviceKind, IndicationKind, SourceKind
from sitegen.catalogue.serials import ranges

FORMAT = 1
"""The one version of the format that there is."""

ID_PATTERN = r"^[a-z0-9]+(-[a-z0-9]+)*$"
LONGEST_ID = 64

Id = Annotated[str, StringConstraints(pattern=ID_PATTERN, max_length=LONGEST_ID)]
"""The name by which records refer to each other, kebab-case; also the name of its page's file."""

ONE_LINE = r"^\S(.*\S)?$"
DATE_PATTERN = r"([0-9]{4})-([0-9]{2})-([0-9]{2})"
ATA_PATTERN = r"^[0-9]{2}(-[0-9]{2}){0,2}$"


def _visible(text: str) -> str:
    if not VISIBLE.search(text):
        raise PydanticCustomError("invisible", "nothing in it is visible")
    return text


def _serials(text: str) -> str:
    try:
        if text:
            ranges(text)
    except ValueError as problem:
        raise PydanticCustomError("serials", "{problem}", {"problem": str(problem)}) from None
    return text


Words = Annotated[
    str,
    StringConstraints(pattern=ONE_LINE, min_length=1, max_length=200),
    AfterValidator(_visible),
]
"""One line that a person reads."""

Prose = Annotated[str, StringConstraints(max_length=20_000)]
"""A longer text; Markdown is allowed."""

Positive = Annotated[float, Field(gt=0, le=1_000_000, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, le=1_000_000, allow_inf_nan=False)]
Share = Annotated[float, Field(gt=0, le=1, allow_inf_nan=False)]


THICK_GAUGES = {"00": -1, "000": -2, "0000": -3}
"""The gauges above 0, as they are written, and the numbers that continue the row of the others."""


def gauge_number(written: Any) -> Any:
    """An AN wire gauge as a number: the thicker the wire, the lower.

    >>> gauge_number(12), gauge_number("0000")
    (12, -3)
    """
    if isinstance(written, str) and written != "0":
        if written not in THICK_GAUGES:
            raise ValueError('must be a whole number from 0 to 30, or "00", "000" or "0000"')
        return THICK_GAUGES[written]
    if isinstance(written, int) and not 0 <= written <= 30:
        raise ValueError("must be from 0 to 30")
    return written


def _written_gauge(gauge: int) -> int | str:
    return gauge if gauge >= 0 else "0" * (1 - gauge)


Gauge = Annotated[
    int,
    BeforeValidator(
        gauge_number,
        json_schema_input_type=Annotated[int, Field(ge=0, le=30)] | Literal["00", "000", "0000"],
    ),
    PlainSerializer(_written_gauge),
]
"""AN wire gauge; "00" and thicker in quotes."""


def _kebab(name: str) -> str:
    return name.rstrip("_").replace("_", "-")


def _shape(value: Any) -> str:
    """Which branch of 'one word, or a table' a value is, so that only that branch complains."""
    return "table" if isinstance(value, (dict, BaseModel)) else "plain"


def _as_list(value: Any) -> Any:
    """Accept one table in place of a list of tables."""
    return [value] if isinstance(value, dict) else value


def _date(value: Any) -> Any:
    """A date is written year-month-day; a bare number is not a date, whatever else reads it so."""
    if isinstance(value, datetime.date):
        return value
    try:
        return datetime.date(*map(int, re.fullmatch(DATE_PATTERN, value).groups()))  # type: ignore[union-attr]
    except (TypeError, ValueError, AttributeError):
        raise ValueError("must be a date, year-month-day like 2026-11-20") from None


def _without_date(text: str) -> str:
    if re.search(rf", ?{DATE_PATTERN}(,|$)", text):
        raise ValueError("must be a name alone, with the date under `on`")
    return text


def _ata_words(value: Any) -> Any:
    """`ata: 23` is a number to YAML and a chapter to everyone else."""
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


class Record(BaseModel):
    """What every record of the catalogue has in common: strict, closed, frozen."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        strict=True,
        alias_generator=_kebab,
        populate_by_name=False,
        protected_namespaces=(),
        # One validator for the whole catalogue is made; none is needed of each class by itself.
        defer_build=True,
    )


class Checked(Record):
    """Who verified a line of the catalogue, when, and against what."""

    by: Annotated[Words, AfterValidator(_without_date)]
    """Who checked it: a name or initials, without the date."""
    on: Annotated[datetime.date, BeforeValidator(_date)]
    """The date of the check, year-month-day: `2026-11-20`."""
    against: Words | None = None
    """The document with its revision, or the aircraft; left out: what `reference` says."""


class Line(Record):
    """What is verified as one: where it came from, and by whom it was checked."""

    reference: Words | None = None
    """The document that it was taken from: `Wiring chart 24-31-01, revision 6`."""
    checked: Checked | None = None
    """Who has checked it, when, against what; it covers what is written within the record."""


class Fitted(Line):
    """A record that may be fitted to some airframes only, and may carry a note."""

    fitted_to: Annotated[list[Id], Field(min_length=1)] | None = None
    """The airframes it is fitted to, by id; left out: all of them."""
    note: Prose = ""
    """What a reader must know about it; Markdown."""


class Named(Fitted):
    """A fitted record with an id and a name."""

    id: Id
    """By which other records name it; unique on each airframe."""
    name: Words
    """As people call it, or as it is on the placard."""
    also_called: list[Words] = []
    """Other names that people look for it by: `[bus tie, left generator]`."""

    @property
    def called(self) -> list[str]:
        """All its names."""
        return [self.name, *self.also_called]


class Aircraft(Line):
    """What the catalogue describes, and from which revision."""

    name: Words
    """The aircraft, as it is in the title of every page."""
    title: Words = "Electrical bus map"
    """What the site is called."""
    revision: Words
    """The revision of this catalogue; it is printed on every page."""
    revised: Annotated[datetime.date, BeforeValidator(_date)]
    """The date of the revision, year-month-day: `2026-11-20`."""
    statement: Prose = ""
    """What the front page and handouts say about the data and its limits; Markdown."""
    load_volts: Positive | None = None
    """The volts of DC buses at which `amps` were taken, V; left out: whatever the bus has."""


class Airframe(Line):
    """One block of the fleet with its own wiring."""

    id: Id
    """By which `fitted-to` and `--airframe` name it; also its folder in the site."""
    name: Words
    """The block of airframes, as people call it."""
    serials: Annotated[str, StringConstraints(max_length=2_000), AfterValidator(_serials)] = ""
    """Its serial numbers, for readers who know only theirs: `1-24, 31, 59-`."""
    note: Prose = ""
    """What is different about it; Markdown."""


class BatteryTime(Record):
    """What is asked of the batteries when they are all that is left."""

    required_minutes: Positive = 30
    """How long the batteries must last, minutes."""
    recognition_minutes: NotNegative = 5
    """How long the crew takes before anything is shed, minutes."""
    landing_minutes: NotNegative = 10
    """The last part, minutes, by the landing column; what is turned on to land is left out."""
    landing_column: Id | None = None
    """The load column for the landing part; left out: the condition's own."""
    usable: Share = 0.75
    """The share of the capacity that may be counted on, 0 to 1."""


class Length(Record):
    """How long a conductor is, in one of the two units."""

    feet: Positive | None = None
    """The length in feet."""
    metres: Positive | None = None
    """The length in metres."""

    @model_validator(mode="after")
    def _in_one_unit(self) -> Length:
        if (self.feet is None) == (self.metres is None):
            raise ValueError("must have one of feet and metres")
        return self


class Feed(Record):
    """A conductor from a bus (or a source's terminals) into a converter."""

    bus: Id
    """The bus, or the source, that feeds the converter, by id."""
    through: list[Id] = []
    """The devices in the conductor, in series, by id."""
    wire: Gauge | None = None
    """AN wire gauge; `"00"` and thicker in quotes. Needed with `length`."""
    length: Length | None = None
    """The length of the conductor, for its voltage drop."""


class Source(Named):
    """What makes power available."""

    kind: SourceKind
    """What it is; a converter produces only while its `fed-from` is live."""
    volts: Positive
    """The volts that it shows while it produces, V."""
    current: Literal["dc", "ac"] = "dc"
    """DC or AC."""
    amps: Positive | None = None
    """Its rating, A."""
    amp_hours: Positive | None = None
    """A battery's capacity at the one-hour rate, Ah."""
    usable: Share | None = None
    """The share of this battery's capacity that counts, 0 to 1, in place of the common one."""
    battery_time: BatteryTime | None = None
    """What is asked of this battery, in place of the catalogue's `battery-time`."""
    volts_range: Annotated[list[Positive], Field(min_length=2, max_length=2)] | None = None
    """The least and the most volts that it may show in good health, V: `[22, 25.2]`."""
    charge_amps: Annotated[list[NotNegative], Field(min_length=2, max_length=2)] | None = None
    """The least and the most that a sound battery takes while others charge it, A."""
    amps_5s: Positive | None = None
    """What it may give for 5 seconds, A."""
    amps_5min: Positive | None = None
    """What it may give for 5 minutes, A."""
    internal_ohms: Positive | None = None
    """How far its volts sag for each ampere that it gives, V/A."""
    fed_from: Annotated[
        list[Feed], BeforeValidator(_as_list, json_schema_input_type=Feed | list[Feed])
    ] = []
    """A converter's input; with several, any one of them will do."""
    efficiency: Share = 0.8
    """A converter's output power over its input power, 0 to 1."""
    synchronised: Words | None = None
    """A name of your choice: AC sources that share it may feed one bus together."""
    hazard: Words | None = None
    """What can hurt someone here; lists show the words before the colon."""


class Bus(Named):
    """A bar that things connect to."""

    current: Literal["dc", "ac"] = "dc"
    """DC or AC."""
    hazard: Words | None = None
    """What can hurt someone here; lists show the words before the colon."""


class Terms(Record):
    """A closing condition; all of its terms must hold."""

    switches: dict[Id, Words] = {}
    """Switches by id, each with the position that it must be in: `{master: "on"}`."""
    live: list[Id] = []
    """Sources that produce and buses that are live, by id."""
    dead: list[Id] = []
    """Sources that do not produce and buses that are dead, by id."""
    closed: list[Id] = []
    """Contactors, relays and other devices that conduct, by id."""
    open: list[Id] = []
    """Contactors, relays and other devices that do not conduct, by id."""
    volts_above: dict[Id, NotNegative] = {}
    """Buses and sources by id, each with the volts that it must exceed, V."""
    volts_below: dict[Id, NotNegative] = {}
    """Buses and sources by id, each with the volts it must be below, V; dead counts as 0."""


AnyOfTerms = Annotated[
    list[Terms],
    Field(min_length=1),
    BeforeValidator(_as_list, json_schema_input_type=Terms | list[Terms]),
]
"""One closing condition, or a list of them of which any one is enough."""


class OpensAt(Record):
    """At how many times its rating a device opens by overload."""

    may: Positive = 1.15
    """From this many times its rating it may open."""
    must: Positive = 1.38
    """From this many times its rating it does open."""

    @model_validator(mode="after")
    def _in_order(self) -> OpensAt:
        if self.may > self.must:
            raise ValueError("must not have may above must")
        return self


class Device(Named):
    """What is in a feeder, or a breaker that several pieces of equipment share."""

    kind: DeviceKind
    """What it is."""
    amps: Positive | None = None
    """Its rating, A."""
    panel: Id | None = None
    """The panel that it is on, by id."""
    at: Words | None = None
    """Row and column on the panel: `B7`."""
    closes_when: AnyOfTerms | None = None
    """What closes a contactor, relay or switch: all terms of one condition, or of any."""
    protective: bool = False
    """Whether a contactor or relay has its own fault sensing and trips on a short."""
    rides_through: bool | None = None
    """Whether it keeps its state while a fault holds its coil voltage down; left out: not said."""
    drop_volts: NotNegative = 0.7
    """A diode's forward drop, V."""
    opens_at: OpensAt | None = None
    """How many times its rating opens it; left out: breakers 1.15 to 1.38, all else never."""


class Feeder(Fitted):
    """A conductor between two nodes, through devices in series."""

    from_: Id
    """The bus or source where it begins, by id; a diode passes power away from here."""
    to: Id
    """The bus or source where it ends, by id."""
    through: list[Id] = []
    """The devices in it, in series from `from` to `to`, by id."""
    tie: bool = False
    """Whether it joins two bars of one level; these are drawn side by side."""
    wire: Gauge | None = None
    """AN wire gauge; `"00"` and thicker in quotes. Needed with `length`."""
    length: Length | None = None
    """The length of the conductor, for its voltage drop."""


class Protector(Line):
    """A breaker or fuse of one supply, written in place."""

    id: Id | None = None
    """Left out, it is made from the equipment's id: `com-1.breaker`."""
    name: Words
    """What the placard says."""
    amps: Positive
    """Its rating, A."""
    panel: Id | None = None
    """The panel that it is on, by id."""
    at: Words | None = None
    """Row and column on the panel: `B7`."""


PlainOrProtector = Annotated[
    Annotated[Id, Tag("plain")] | Annotated[Protector, Tag("table")], Discriminator(_shape)
]


Amps = Annotated[
    Annotated[NotNegative, Tag("plain")] | Annotated[dict[Id, NotNegative], Tag("table")],
    Discriminator(_shape),
]
"""One figure for every load column, or one for each, A."""


class Supply(Fitted):
    """One connection to a bus, through its own breaker or fuse."""

    bus: Id
    """The bus that it comes from, by id."""
    breaker: PlainOrProtector | None = None
    """Its own breaker in place: `{name: COM, amps: 5}`; or the id of a shared one."""
    fuse: PlainOrProtector | None = None
    """Its own fuse in place: `{name: CLOCK, amps: 1}`; or the id of a shared one."""
    through: list[Id] = []
    """Contactors, relays or switches between the breaker and the equipment, by id."""
    amps: Amps | None = None
    """What is drawn from this supply by equipment with `needs: all`, A."""
    wire: Gauge | None = None
    """AN wire gauge; `"00"` and thicker in quotes. Needed with `length`."""
    length: Length | None = None
    """The length of the conductor, for its voltage drop."""


class AnyOf(Record):
    """Other equipment of which one working piece is enough."""

    any: Annotated[list[Id], Field(min_length=1)]
    """Equipment by id; one that works is enough."""


Requirement = Annotated[
    Annotated[Id, Tag("plain")] | Annotated[AnyOf, Tag("table")], Discriminator(_shape)
]


class Equipment(Named):
    """What uses power."""

    ata: Annotated[
        str,
        BeforeValidator(
            _ata_words,
            json_schema_input_type=Annotated[str, StringConstraints(pattern=ATA_PATTERN)]
            | Annotated[int, Field(ge=10, le=99)],
        ),
        StringConstraints(pattern=ATA_PATTERN),
    ]
    """The ATA 100 chapter: `23`, `23-12` or `23-12-01`."""
    supplies: Annotated[list[Supply], Field(min_length=1)]
    """Its connections to buses, each through its own breaker or fuse."""
    needs: Literal["any", "all"] = "any"
    """Whether any one supply will do, or all must be live."""
    min_volts: Positive | None = None
    """The least volts of a bus at which a supply from it is of use, V."""
    requires: list[Requirement] = []
    """Other equipment that must work for this to work, by id: `[a, {any: [b, c]}]`."""
    amps: Amps | None = None
    """What it draws continuously, A; a figure, or one for each load column."""
    peak_amps: Amps | None = None
    """What it draws for a short time, as at a start, A; written like `amps`."""
    load: Literal["constant-current", "constant-power", "resistive"] = "constant-current"
    """How its amps follow the volts of a DC bus, from `load-volts` of the aircraft."""
    on_loss: Prose = ""
    """What its loss means and what to do about it; Markdown."""
    if_it_comes_on: Prose = ""
    """What to know when a failure switches it on; Markdown."""
    hazard: Words | None = None
    """What can hurt someone here; lists show the words before the colon."""

    @property
    def amps_of_supplies(self) -> list[Amps | None]:
        """The figures of its supplies, where it needs them all and any has one; else empty."""
        figures = [supply.amps for supply in self.supplies]
        return figures if self.needs == "all" and any(a is not None for a in figures) else []

    @property
    def has_amps(self) -> bool:
        """What it draws is known: a figure of its own, or one for each of its supplies."""
        return None not in (self.amps_of_supplies or [self.amps])


class Switch(Named):
    """What a person sets. A condition that does not name it has it in its first position."""

    positions: Annotated[list[Words], Field(min_length=2)]
    """At least two, `"off"` and `"on"` in quotes; the first holds where nothing else is said."""
    where: Words | None = None
    """Where it is in the aircraft."""


class Panel(Named):
    """Where breakers are."""

    where: Words
    """Where it is in the aircraft."""
    rows: Annotated[list[Words], Field(min_length=1, max_length=60)]
    """The names of its rows, from the top."""
    columns: Annotated[int, Field(ge=1, le=99)]
    """How many columns it has."""
    ground_only: bool = False
    """Whether nobody can reach it in flight: then what is on it is looked at on the ground."""


class LoadColumn(Line):
    """One column of the load table."""

    id: Id
    """By which `amps` and the `loads` of a condition name it."""
    name: Words
    """The column, as people call it: `Cruise`."""


class Condition(Named):
    """A named state of the aircraft before anything fails."""

    sources: list[Id]
    """The generators, batteries and external power on line, by id; no converters."""
    switches: dict[Id, Words] = {}
    """Switches by id, each with its position: `{master: "on"}`; others are in their first."""
    loads: Id | None = None
    """The load column that applies, by id."""
    pulled: list[Words] = []
    """Breakers and fuses that are pulled, by id; that of a supply is `com-1.breaker`."""
    held_closed: list[Id] = []
    """Contactors and relays that start closed, by id."""
    battery_time: Annotated[
        Annotated[bool, Tag("plain")] | Annotated[BatteryTime, Tag("table")],
        Discriminator(_shape),
    ] = True
    """Whether time on battery is computed here; or what is asked, in place of `battery-time`."""

    @property
    def own_battery_time(self) -> BatteryTime | None:
        """What it asks of the batteries in place of the catalogue's."""
        return self.battery_time if isinstance(self.battery_time, BatteryTime) else None


class Then(Record):
    """What the crew does about a failure."""

    switches: dict[Id, Words] = {}
    """Switches that the crew sets, by id, each with its position: `{gen-1: "off"}`."""
    shed: list[Id] = []
    """Equipment that the crew turns off, by id."""
    pulled: list[Words] = []
    """Breakers and fuses that the crew pulls, by id: `com-1.breaker`."""
    reset: list[Words] = []
    """Tripped breakers and contactors, and stalled sources, that the crew resets, by id."""
    note: Prose = ""
    """What else the crew does, or should know; Markdown."""

    @property
    def changes_wiring(self) -> bool:
        """It has more than a note."""
        return bool(self.switches or self.sheds or self.reset)

    @property
    def sheds(self) -> bool:
        """The crew turns equipment off, or pulls breakers."""
        return bool(self.shed or self.pulled)


NO_ACTS = Then()
"""The crew does nothing."""


class Failure(Named):
    """One or more components failed, each in a mode, under a name."""

    failed: Annotated[list[Words], Field(min_length=1)]
    """Components by id, with a mode after a colon: `left-main:shorted`."""
    then: Then | None = None
    """What the crew does about it."""
    then_in: dict[Id, Then] = {}
    """By the id of a condition: what the crew does there, in place of all of `then`."""
    notes_in: dict[Id, Prose] = {}
    """By the id of a condition: a text for the crew in place of the note of `then`."""
    battery_time: BatteryTime | None = None
    """What is asked of the batteries here, in place of the catalogue's `battery-time`."""

    @property
    def crew_fields(self) -> list[tuple[tuple[str, ...], Then]]:
        """All that it says of the crew: `(("then",), ...)`, `(("then-in", "cruise"), ...)`."""
        everywhere = [(("then",), self.then)] if self.then else []
        return [*everywhere, *((("then-in", c), then) for c, then in self.then_in.items())]

    @property
    def has_acts(self) -> bool:
        """Somewhere the crew changes the wiring: after notes alone there is no other stage."""
        return any(then.changes_wiring for _, then in self.crew_fields)

    def crew_does(self, condition: str) -> Then:
        """What the crew does in a condition, by its id."""
        return self.then_in.get(condition, self.then or NO_ACTS)

    def crew_note(self, condition: str) -> str:
        """What to say to the crew in a condition."""
        return self.notes_in.get(condition) or self.crew_does(condition).note


def without_acts(failure: Failure) -> Failure:
    """The same if the crew does nothing, and nothing is said to it."""
    return failure.model_copy(update={"then": None, "then_in": {}, "notes_in": {}})


class Indication(Named):
    """What a person can read."""

    kind: IndicationKind
    """What it is."""
    at: Id | None = None
    """What a meter reads: a bus, a source or a device, by id."""
    lit_when: AnyOfTerms | None = None
    """When a lamp is lit or a flag shows; written like `closes-when`."""
    colour: Words | None = None
    """The colour of a lamp or flag."""
    supplies: list[Supply] = []
    """Its own power; left out, it needs none."""


class Group(Record):
    """Providers that count as one: any `need` of them, or all of them."""

    any: Annotated[list[Provider], Field(min_length=1)] | None = None
    """Providers of which `need` must work."""
    all: Annotated[list[Provider], Field(min_length=1)] | None = None
    """Providers that must all work."""
    need: Annotated[int, Field(ge=1)] = 1
    """How many of `any` must work."""

    @model_validator(mode="after")
    def _one_of_the_two(self) -> Group:
        if (self.any is None) == (self.all is None):
            raise ValueError("must have either any or all")
        return self


Provider = Annotated[
    Annotated[Id, Tag("plain")] | Annotated[Group, Tag("table")], Discriminator(_shape)
]


def required_ids(equipment: Equipment) -> list[str]:
    """Every piece of equipment that this one names under `requires`."""
    return [i for r in equipment.requires for i in (r.any if isinstance(r, AnyOf) else [r])]


def equipment_of(providers: list[str | Group]) -> list[str]:
    """Every piece of equipment among a function's providers and their groups, in order."""
    found: dict[str, None] = {}
    for provider in providers:
        if isinstance(provider, Group):
            found.update(
                dict.fromkeys(equipment_of([*(provider.any or ()), *(provider.all or ())]))
            )
        else:
            found[provider] = None
    return list(found)


class Function(Named):
    """What the aircraft must still be able to do, and the equipment that can do it."""

    provided_by: Annotated[
        list[Provider],
        Field(min_length=1),
        BeforeValidator(_as_list, json_schema_input_type=Group | list[Provider]),
    ]
    """Equipment by id, or groups: `[a, {all: [b, c]}, {any: [d, e, f], need: 2}]`."""
    need: Annotated[int, Field(ge=1)] = 1
    """How many of them must work."""
    essential: bool = False
    """Whether its loss is listed with the single points of failure."""
    independent: list[Annotated[list[Id], Field(min_length=2, max_length=2)]] = []
    """Pairs of providers that no single failure may take together: `[[com-1, com-2]]`."""

    @model_validator(mode="before")
    @classmethod
    def _any_at_the_top(cls, data: Any) -> Any:
        """`provided-by: {any: [...], need: 2}` is the list itself, with that need."""
        top = data.get("provided-by") if isinstance(data, dict) else None
        if isinstance(top, dict) and set(top) in ({"any"}, {"any", "need"}):
            need = {"need": top["need"]} if "need" in top else {}
            return {**data, **need, "provided-by": top["any"]}
        return data

    @property
    def as_group(self) -> Group:
        """Its providers, and how many of them must work, as one group."""
        return Group(any=self.provided_by, need=self.need)

    @property
    def equipment(self) -> list[str]:
        """Every piece of equipment among the providers."""
        return equipment_of(self.provided_by)


HandoutSection = Literal[
    "cover",
    "diagram",
    "buses",
    "function-losses",
    "equipment-losses",
    "failures",
    "indications",
    "functions",
    "loads",
    "battery",
    "notes",
    "index",
    "blank-diagram",
    "blank-buses",
]


class Handout(Named):
    """What is printed for a class: which parts, in which order. Its note is on the cover."""

    sections: Annotated[list[HandoutSection], Field(min_length=1)]
    """What is printed, in this order."""
    notes: list[Id] | None = None
    """The longer texts to print, in order, by file name; left out: all of them."""
    conditions: list[Id] = []
    """In which conditions losses, indications and batteries are shown; left out: the first."""
    paper: Literal["a4", "letter"] = "a4"
    """The size of the paper."""
    leave_out: list[Literal["names", "amps", "states"]] = ["names", "amps", "states"]
    """What a blank diagram lacks."""


WHOLE_HANDOUT = Handout(
    id="course",
    name="Study handout",
    sections=[s for s in get_args(HandoutSection) if not s.startswith("blank")],
)
"""The handout of an airframe for which the catalogue has none."""


class Accepted(Record):
    """Advice of `inspect` that is known and stays as it is."""

    rule: Words
    """The code at the end of the advice, without its brackets."""
    at: Words
    """The id of the record, `from to to` of a feeder, or the name of a section or file."""
    reason: Words
    """Why it stays as it is."""


class Catalogue(Record):
    """All sections of a catalogue, merged from its files in the order of their names."""

    format: Literal[1]
    """The version of the format: 1."""
    aircraft: Aircraft
    """What the catalogue describes, and its revision."""
    airframes: Annotated[list[Airframe], Field(min_length=1)] = [
        Airframe(id="all", name="All serials")
    ]
    """The blocks of the fleet that are wired differently; the first is shown first."""
    sources: list[Source] = []
    """Generators, batteries, external power and converters."""
    buses: list[Bus] = []
    """The bars that things connect to."""
    devices: list[Device] = []
    """What is in feeders, and breakers that several items of equipment share."""
    feeders: list[Feeder] = []
    """The conductors between buses and sources."""
    equipment: list[Equipment] = []
    """What uses power."""
    switches: list[Switch] = []
    """What a person sets."""
    panels: list[Panel] = []
    """Where breakers are."""
    load_columns: list[LoadColumn] = []
    """The columns of the load table; `amps` may have a figure for each."""
    conditions: Annotated[list[Condition], Field(min_length=1)]
    """States of the aircraft before anything fails; the first is shown first."""
    failures: list[Failure] = []
    """Failures with a name; single failures of every component need no entry."""
    indications: list[Indication] = []
    """Meters, lamps and flags."""
    functions: list[Function] = []
    """What the aircraft must still be able to do."""
    handout: list[Handout] = []
    """What is printed for a class; left out: one handout with everything."""
    battery_time: BatteryTime = BatteryTime()
    """How long the batteries must last when they are all that is left."""
    abbreviations: dict[Words, Words] = {}
    """What abbreviations on placards mean, for the search: `{ALT: "altitude, altimeter"}`."""
    accepted: list[Accepted] = []
    """Advice of `inspect` that is known; it is shown with its reason and not counted."""


@lru_cache(maxsize=1)
def field_names(record: type[Record]) -> frozenset[str]:
    """The names of all fields of a record and of what is within it."""
    names: set[str] = set()
    waiting: list[Any] = [record]
    seen: set[Any] = set()
    while waiting:
        one = waiting.pop()
        if isinstance(one, type) and issubclass(one, Record) and one not in seen:
            seen.add(one)
            names |= {info.alias or name for name, info in one.model_fields.items()}
            waiting += [info.annotation for info in one.model_fields.values()]
        waiting += get_args(one)
    return frozenset(names)
