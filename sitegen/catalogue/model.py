"""The catalogue's format: what an author may write, field by field.

The classes below are the format. They are checked strictly (a number is a number, a word is
a word), they refuse fields they do not know, and they are frozen once read. Their JSON Schema,
for editors, comes from the same classes (`json_schema`).

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
    )


class Checked(Record):
    """Who verified a line of the catalogue, when, and against what."""

    by: Annotated[Words, AfterValidator(_without_date)]
    """A name or initials."""
    on: Annotated[datetime.date, BeforeValidator(_date)]
    against: Words | None = None
    """The document and its revision, or the aircraft; left out: what `reference` says."""


class Line(Record):
    """What is verified as one: where it came from, and by whom it was checked."""

    reference: Words | None = None
    """The document that it was taken from: `Wiring chart 24-31-01, revision 6`."""
    checked: Checked | None = None
    """Left out: nobody has verified it. It covers what is written within the record too."""


class Fitted(Line):
    """A record that may be fitted to some airframes only, and may carry a note."""

    fitted_to: Annotated[list[Id], Field(min_length=1)] | None = None
    """The airframes it is fitted to; left out: all of them."""
    note: Prose = ""


class Named(Fitted):
    """A fitted record with an id and a name."""

    id: Id
    name: Words


class Aircraft(Line):
    """What the catalogue describes, and from which revision."""

    name: Words
    title: Words = "Electrical bus map"
    revision: Words
    revised: Annotated[datetime.date, BeforeValidator(_date)]
    statement: Prose = ""
    load_volts: Positive | None = None
    """The volts of DC buses at which `amps` were taken; left out: whatever the bus has."""


class Airframe(Line):
    """One block of the fleet with its own wiring."""

    id: Id
    name: Words
    serials: Annotated[str, StringConstraints(max_length=2_000), AfterValidator(_serials)] = ""
    """`1-24, 31, 59-`: so that a reader can ask for a serial number."""
    note: Prose = ""


class BatteryTime(Record):
    """What is asked of the batteries when they are all that is left."""

    required_minutes: Positive = 30
    recognition_minutes: NotNegative = 5
    landing_minutes: NotNegative = 10
    landing_column: Id | None = None
    usable: Share = 0.75
    """The share of a battery's capacity that may be counted on."""


class Length(Record):
    """How long a conductor is, in one of the two units."""

    feet: Positive | None = None
    metres: Positive | None = None

    @model_validator(mode="after")
    def _in_one_unit(self) -> Length:
        if (self.feet is None) == (self.metres is None):
            raise ValueError("must have one of feet and metres")
        return self


class Feed(Record):
    """A conductor from a bus (or a source's terminals) into a converter."""

    bus: Id
    through: list[Id] = []
    wire: Gauge | None = None
    length: Length | None = None


class Source(Named):
    """What makes power available."""

    kind: SourceKind
    volts: Positive
    """What it shows while it produces, V."""
    current: Literal["dc", "ac"] = "dc"
    amps: Positive | None = None
    """Rated output, A."""
    amp_hours: Positive | None = None
    """A battery's capacity at the one-hour rate, Ah."""
    usable: Share | None = None
    """The share of this battery's capacity that may be counted on, in place of the catalogue's."""
    battery_time: BatteryTime | None = None
    volts_range: Annotated[list[Positive], Field(min_length=2, max_length=2)] | None = None
    """The least and the most volts that this source may show in good health, V."""
    charge_amps: Annotated[list[NotNegative], Field(min_length=2, max_length=2)] | None = None
    """The least and the most that a sound battery may take while others charge it, A."""
    amps_5s: Positive | None = None
    """What it may give for 5 seconds, A."""
    amps_5min: Positive | None = None
    """What it may give for 5 minutes, A."""
    internal_ohms: Positive | None = None
    """By how much its volts sag for each ampere that it gives, V/A."""
    fed_from: Annotated[
        list[Feed], BeforeValidator(_as_list, json_schema_input_type=Feed | list[Feed])
    ] = []
    """A converter's input; with several, any one of them will do."""
    efficiency: Share = 0.8
    """A converter's output power over its input power."""
    synchronised: Words | None = None
    """AC sources with the same name may feed one bus together."""
    hazard: Words | None = None
    """What can hurt someone here; lists show the words before the colon."""


class Bus(Named):
    """A bar that things connect to."""

    current: Literal["dc", "ac"] = "dc"
    hazard: Words | None = None
    """What can hurt someone here; lists show the words before the colon."""


class Terms(Record):
    """A plain closing condition, all of which must hold."""

    switches: dict[Id, Words] = {}
    live: list[Id] = []
    dead: list[Id] = []
    closed: list[Id] = []
    open: list[Id] = []
    volts_above: dict[Id, NotNegative] = {}
    """Nodes that show more than this, V."""
    volts_below: dict[Id, NotNegative] = {}
    """Nodes that show less than this, V; a dead one shows 0."""


AnyOfTerms = Annotated[
    list[Terms],
    Field(min_length=1),
    BeforeValidator(_as_list, json_schema_input_type=Terms | list[Terms]),
]
"""One closing condition, or a list of them of which any one is enough."""


class OpensAt(Record):
    """At how many times its rating a device opens by overload."""

    may: Positive = 1.15
    must: Positive = 1.38

    @model_validator(mode="after")
    def _in_order(self) -> OpensAt:
        if self.may > self.must:
            raise ValueError("must not have may above must")
        return self


class Device(Named):
    """What is in a feeder, or a breaker that several pieces of equipment share."""

    kind: DeviceKind
    amps: Positive | None = None
    """Rating, A."""
    panel: Id | None = None
    at: Words | None = None
    """Row and column on the panel: `B7`."""
    closes_when: AnyOfTerms | None = None
    """For a contactor, relay or switch: what closes it."""
    protective: bool = False
    """A contactor or relay with its own fault sensing, which trips on a short."""
    rides_through: bool = False
    """It keeps its state while a fault holds its coil voltage down."""
    drop_volts: NotNegative = 0.7
    """A diode's forward drop, V."""
    opens_at: OpensAt | None = None
    """When it opens by overload; left out: a breaker at 1.15 to 1.38, all else never."""


class Feeder(Fitted):
    """A conductor between two nodes, through devices in series."""

    from_: Id
    to: Id
    through: list[Id] = []
    tie: bool = False
    """It joins two bars of one level; they are drawn side by side."""
    wire: Gauge | None = None
    length: Length | None = None


class Protector(Line):
    """A breaker or fuse of one supply, written in place."""

    id: Id | None = None
    """Left out, it is made from the equipment's id: `com-1.breaker`."""
    name: Words
    amps: Positive
    panel: Id | None = None
    at: Words | None = None


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
    breaker: PlainOrProtector | None = None
    fuse: PlainOrProtector | None = None
    through: list[Id] = []
    """Contactors, relays or switches between the breaker and the equipment."""
    amps: Amps | None = None
    """What is drawn here by equipment that needs all of its supplies, A."""
    wire: Gauge | None = None
    length: Length | None = None


class AnyOf(Record):
    """Other equipment of which one working piece is enough."""

    any: Annotated[list[Id], Field(min_length=1)]


Requirement = Annotated[
    Annotated[Id, Tag("plain")] | Annotated[AnyOf, Tag("table")], Discriminator(_shape)
]


class Equipment(Named):
    """What uses power."""

    ata: Annotated[
        str,
        BeforeValidator(_ata_words, json_schema_input_type=str | int),
        StringConstraints(pattern=ATA_PATTERN),
    ]
    """ATA 100 chapter, `23`, `23-12` or `23-12-01`."""
    supplies: Annotated[list[Supply], Field(min_length=1)]
    needs: Literal["any", "all"] = "any"
    min_volts: Positive | None = None
    """The least volts of a bus at which a supply from it is of use, V."""
    requires: list[Requirement] = []
    amps: Amps | None = None
    """Continuous draw, A."""
    peak_amps: Amps | None = None
    """Short-time draw, A."""
    load: Literal["constant-current", "constant-power", "resistive"] = "constant-current"
    """How it draws as the volts of a DC bus change from `load-volts`."""
    on_loss: Prose = ""
    if_it_comes_on: Prose = ""
    """What to know when a failure switches it on."""
    hazard: Words | None = None
    """What can hurt someone here; lists show the words before the colon."""


class Switch(Named):
    """What a person sets. A condition that does not name it has it in its first position."""

    positions: Annotated[list[Words], Field(min_length=2)]
    where: Words | None = None


class Panel(Named):
    """Where breakers are."""

    where: Words
    rows: Annotated[list[Words], Field(min_length=1, max_length=60)]
    columns: Annotated[int, Field(ge=1, le=99)]


class LoadColumn(Line):
    """One column of the load table."""

    id: Id
    name: Words


class Condition(Named):
    """A named state of the aircraft before anything fails."""

    sources: list[Id]
    """The generators, batteries and external power on line; converters follow their input."""
    switches: dict[Id, Words] = {}
    loads: Id | None = None
    pulled: list[Words] = []
    """Breakers that are pulled."""
    held_closed: list[Id] = []
    """Contactors and relays that start closed."""
    battery_time: bool = True
    """False where no endurance is computed: on the ground, with the batteries on charge ..."""


class Then(Record):
    """What the crew does about a failure."""

    switches: dict[Id, Words] = {}
    shed: list[Id] = []
    """Equipment that the crew turns off."""
    pulled: list[Words] = []
    reset: list[Words] = []
    """Tripped breakers and contactors, and stalled sources, that the crew resets."""
    note: Prose = ""


class Failure(Named):
    """One or more components failed, each in a mode, under a name."""

    failed: Annotated[list[Words], Field(min_length=1)]
    """Component ids, a mode after a colon: `left-main:shorted`."""
    then: Then | None = None
    notes_in: dict[Id, Prose] = {}
    """By condition: a text for the crew in place of the note of `then`."""
    battery_time: BatteryTime | None = None

    def crew_note(self, condition: str) -> str:
        """What to say to the crew in a condition."""
        return self.notes_in.get(condition) or (self.then.note if self.then else "")


class Indication(Named):
    """What a person can read."""

    kind: IndicationKind
    at: Id | None = None
    """The node or device a meter reads."""
    lit_when: AnyOfTerms | None = None
    """For a lamp or flag: when it shows."""
    colour: Words | None = None
    supplies: list[Supply] = []
    """Its own power; left out, it needs none."""


class Group(Record):
    """Providers that count as one: any `need` of them, or all of them."""

    any: Annotated[list[Provider], Field(min_length=1)] | None = None
    all: Annotated[list[Provider], Field(min_length=1)] | None = None
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
    need: Annotated[int, Field(ge=1)] = 1
    essential: bool = False
    independent: list[Annotated[list[Id], Field(min_length=2, max_length=2)]] = []

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
    notes: list[Id] | None = None
    """The longer texts to print, in order; left out: all of them."""
    conditions: list[Id] = []
    """In which conditions losses, indications and batteries are shown; left out: in the first."""
    paper: Literal["a4", "letter"] = "a4"
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
    """The id of the record, `from to to` of a feeder, the name of a section or of a file."""
    reason: Words


class Catalogue(Record):
    """All sections of a catalogue, merged from its files in the order of their names."""

    format: Literal[1]
    aircraft: Aircraft
    airframes: Annotated[list[Airframe], Field(min_length=1)] = [
        Airframe(id="all", name="All serials")
    ]
    sources: list[Source] = []
    buses: list[Bus] = []
    devices: list[Device] = []
    feeders: list[Feeder] = []
    equipment: list[Equipment] = []
    switches: list[Switch] = []
    panels: list[Panel] = []
    load_columns: list[LoadColumn] = []
    conditions: Annotated[list[Condition], Field(min_length=1)]
    failures: list[Failure] = []
    indications: list[Indication] = []
    functions: list[Function] = []
    handout: list[Handout] = []
    battery_time: BatteryTime = BatteryTime()
    abbreviations: dict[Words, Words] = {}
    """What abbreviations on placards mean, for the search; several meanings with commas."""
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


def json_schema() -> dict[str, Any]:
    """The format as a JSON Schema (draft 2020-12), for editors that complete and check YAML."""
    schema = Catalogue.model_json_schema(by_alias=True)
    # A catalogue may be split over files, so no single file needs every section.
    schema.pop("required", None)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
