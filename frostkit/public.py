"""The public face: one function a question, with the names and options of the command of that question.

Loaded when a name of `frostkit` is first asked for, so that commands start at once.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import wraps
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, ParamSpec

import numpy as np

from frostkit.answers.answer import Answer, Says
from frostkit.crops.entry import Crop, entries, load
from frostkit.ensemble.site import TODAY, Site
from frostkit.errors import RecordError, SettingError
from frostkit.records.record import Record, Station
from frostkit.seasons.calendar import from_code

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr
    from matplotlib.figure import Figure

SEEDED = "05-22"  # the seeding day of a corn of which nothing else is known: common practice, no source
Asked = ParamSpec("Asked")
Source = Any  # a path, the id of a kept station, a Record, an xarray.Dataset or a pandas.DataFrame


@dataclass(frozen=True)
class Shown:
    """An answer that shows itself: in a notebook with its picture, in a terminal as text.

    answer : the decisions, tables and cautions
    language : "en" or "fr"
    units : "metric", "us" (°F, lb/ac, miles), "acres" (°C, lb/ac) or "fahrenheit" (°F, kg/ha)

    Examples
    --------
    >>> import frostkit as fk
    >>> frost = fk.frost(fk.demo())
    >>> sorted(frost.to_dict())[:2]
    ['cautions', 'climate']
    """

    answer: Answer
    language: str = "en"
    units: str = "metric"

    @property
    def tables(self) -> tuple[str, ...]:
        """Names of its tables, for `to_frame`; the first is the main one."""
        return (*(table.key for table in self.answer.tables), "decisions")

    def to_dict(self) -> dict[str, Any]:
        """The answer for programs: what `--json` prints."""
        return import_module("frostkit.show.render.machine").as_dict(self.answer)

    def to_json(self) -> str:
        """The same as JSON."""
        return import_module("frostkit.show.render.machine").as_json(self.answer)

    def to_csv(self, table: str | None = None) -> str:
        """A table as CSV, by name; the main one where none is named. Raises `SettingError` for a name it has not."""
        return import_module("frostkit.show.render.machine").as_csv(self.answer, table)

    def to_frame(self, table: str | None = None) -> "pd.DataFrame":
        """A table as a frame of numbers and dates, by name; the main one where none is named.

        Raises `SettingError` for a name it has not (see `tables`).
        """
        return import_module("frostkit.show.render.frames").as_frame(self.answer, table)

    def to_xarray(self) -> "xr.Dataset":
        """All tables as one Dataset, with units and names after the CF conventions."""
        return import_module("frostkit.show.render.frames").as_dataset(self.answer)

    def plot(self) -> "Figure":
        """The answer's picture. Raises `SettingError` for an answer that has none."""
        return import_module("frostkit.show.pictures").draw(self.answer, self._words())

    def text(self) -> str:
        """All of the answer as text: sentences, tables, sources and cautions in full. What `--all` prints."""
        return import_module("frostkit.show.render.text").as_text(self.answer, self._words())

    def brief(self, blocks: bool = True) -> str:
        """The answer in one look, 30 lines of 80 columns: what a command and `print` show.

        blocks : draw odds by day with block characters
        """
        return import_module("frostkit.show.render.brief").as_brief(self.answer, self._words(), blocks)

    def _words(self) -> Any:
        return import_module("frostkit.show.render.words").words(self.language, self.units)

    def __repr__(self) -> str:
        return self.brief()

    def _repr_html_(self) -> str:
        words = self._words()
        picture = import_module("frostkit.show.pictures").inline(self.answer, words)
        return import_module("frostkit.show.render.html").as_html(self.answer, words, picture)


def shown(answer: Callable[Asked, Answer]) -> Callable[Asked, Shown]:
    """A function that gives an answer, as one that gives an answer that shows itself in its `language` and `units`.

    Where they are left out they are those of `frostkit setup`: English and metric where nothing was said there.
    """

    @wraps(answer)
    def public(*asked: Asked.args, **options: Asked.kwargs) -> Shown:
        how = _how(options.get("language"), options.get("units"))
        return Shown(answer(*asked, **options), *how)

    return public


def _how(language: Any, units: Any) -> tuple[str, str]:
    """The language and units asked for; those of `frostkit setup` where they are left out."""
    if language is None or units is None:
        kept = import_module("frostkit.show.settings").how()
        language, units = language or kept["language"], units or kept["units"]
    return str(language), str(units)


def open(
    source: Source = None,
    *,
    latitude: float | None = None,
    longitude: float | None = None,
    elevation: float | None = None,
    name: str | None = None,
    station: str | None = None,
    input_units: str | None = None,
    check: bool | None = None,
    seasons: tuple[int, int] | str | None = None,
    field_at: tuple[float, float] | None = None,
    colder_by: float | None = None,
    all_nights: bool = False,
    logger: str | Path | None = None,
    logger_units: str | None = None,
    climate: str = TODAY,
    for_season: int | None = None,
    neighbours: Sequence[Source] = (),
) -> Site:
    """A station's record, with the place, field and settings that answers need.

    Parameters
    ----------
    source : file, folder of yearly files, id of a kept station, `Record`, `xarray.Dataset`, or `pandas.DataFrame` with
        a date index and columns `tmin` and `tmax` (and `prcp`, mm); None is the invented place
    latitude, longitude, elevation : the station's, degrees north and east, m, where the source does not say
    name : the station's; station : which one of a source that holds several
    input_units : "C", "F", "K" or "tenths"; left out, what the source says, degC for frames
    check : mask readings that fail the quality checks; left out: done for kept stations, not for files
    seasons : first and last season to be counted
    field_at : where the field lies, degrees north and east
    colder_by : the field is a low spot, so many degC colder on clear, calm nights; all_nights : on every night
    logger : the field's own logger, a CSV; logger_units : "C" or "F"
    climate : "today": past seasons as they would come in today's climate; "as read": as they were
    for_season : the season asked for, answered from earlier ones alone
    neighbours : other records, whose days help to fill holes, nearest first

    Returns
    -------
    Site

    Raises
    ------
    RecordError
        Where the record can't be read without guessing.
    SettingError
        For a setting that is not allowed.
    """
    details = {
        "latitude": latitude,
        "longitude": longitude,
        "elevation": elevation,
        "name": name,
        "station": station,
    }
    record = _record(source, input_units, check, details)
    place = None if field_at is None else Station("field", "field", *field_at)
    return Site(
        record,
        place,
        _offset(record, colder_by, all_nights, logger, logger_units),
        climate.replace("-", " "),
        for_season,
        _span(seasons),
        tuple(_record(one, input_units, check, {}) for one in neighbours),
    )


def demo() -> Site:
    """River Flat, an invented place with made-up weather."""
    return Site(import_module("frostkit.demo.place").demo_record())


def _record(source: Source, input_units: str | None, check: bool | None, details: dict[str, Any]) -> Record:
    """A record from whatever holds one."""
    if source is None:
        return import_module("frostkit.demo.place").demo_record()
    if isinstance(source, Record):
        return source
    if isinstance(source, Site):
        return source.record
    if isinstance(source, str | Path):
        if Path(source).exists():
            read = import_module("frostkit.records.readers").read(source, input_units=input_units, **details)
            own = True
        else:
            read, own = _kept(str(source)), False
    else:
        dataset = import_module("frostkit.records.dataset")
        read, own = dataset.from_any(source, input_units, details), True
    wanted = (not own) if check is None else check
    if not wanted:
        return read if read.invented else replace(read, source={**read.source, "checks": "no"})
    return import_module("frostkit.records.checks").checked(read)


def _kept(name: str) -> Record:
    """A station that is kept on this machine."""
    cache = import_module("frostkit.records.cache")
    kept = cache.Cache(cache.where(None).path)
    if name.upper() in kept.ids():
        return kept.get(name)
    raise RecordError(
        f"There is no file or folder '{name}', and no station of that name is kept here.",
        "Check the path, or keep the station: frostkit record fetch.",
    )


def _offset(
    record: Record, colder_by: float | None, all_nights: bool, logger: str | Path | None, logger_units: str | None
) -> Any:
    """How the field's nights differ from the station's, as typed or from its logger."""
    if colder_by is None and logger is None:
        return None
    if colder_by is not None and logger is not None:
        raise SettingError("colder_by and logger say the same thing twice.", "Give one of them.")
    field = import_module("frostkit.records.field")
    if logger is None:
        return field.low_spot(float(colder_by or 0.0), clear_nights_only=not all_nights)
    return field.compare(record, import_module("frostkit.records.logger").read_logger(logger, logger_units).record)


def _span(seasons: tuple[int, int] | str | None) -> tuple[int, int] | None:
    if seasons is None or isinstance(seasons, tuple):
        return seasons
    first, dash, last = seasons.partition("-")
    if not (dash and first.isdigit() and last.isdigit() and int(first) <= int(last)):
        raise SettingError(f"'{seasons}' is not a span of seasons.", "Write it as 1991-2020.")
    return int(first), int(last)


def _crop(crop: Crop | str | None) -> Crop | None:
    """An entry by name, path or as it is; None and "none" for no crop."""
    if crop is None or isinstance(crop, Crop):
        return crop
    return None if crop.lower() == "none" else load(crop)


def _day(day: int | str | np.datetime64 | None) -> int | None:
    """A day as its column, from "MM-DD" or as it is."""
    return from_code(day) if isinstance(day, str) else None if day is None else int(day)


@shown
def window(
    site: Site,
    corn: Crop | str | None = "silage-2300",
    legume: Crop | str | None = "forage-late",
    *,
    odds: float = 0.8,
    after: int = 0,
    not_after: str | int | None = None,
    store: str = "bunker",
    apart: bool = False,
    late_planting: bool = False,
    seeding: str | int | None = None,
    worth: float | None = None,
    per_day: float = 0.0,
    loss: float = 0.0,
    also: Sequence[Source] = (),
    workdays: bool = False,
    track_record: bool = True,
    book: str | Path | None = None,
    field: str = "",
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """When corn and legume can be seeded, as odds over possible seasons.

    Parameters
    ----------
    site : Site, from `open` or `demo`
    corn, legume : name or path of an entry, an entry, or None
    odds : wanted, 0.05 to 0.99: 0.8 is 8 seasons in 10
    after : days from the corn's seeding to the legume's: -1, 0, 1, 2
    not_after : "MM-DD", your own last seeding day, an insurer's deadline say
    store : where the silage goes: "bunker", "pile", "bag", "upright", "oxygen_limiting"; it decides what fit means
    apart : each crop to its own goal in the open, not chopped together
    late_planting : the corn needs less the later it is seeded, by its entry's figure
    seeding : "MM-DD", a day whose odds are told apart
    worth : what a seeding that makes it brings, sown on the first day looked at: then the day that pays best is told
    per_day : how much less each day later brings; loss : what a seeding that does not make it costs
    also : other stations around the field, whose odds are taken together with the first one's
    workdays : ready needs a day on which the field can be worked too, where the record has rain
    track_record : end with one line on how far such odds were off in the past at this station
    book : the field's book: dried samples of the corn that grew on `field` move its need and narrow core and fringe
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; its main table has a row a seeding day, "seasons" a row a season

    Raises
    ------
    SettingError, CropError, RecordError
        For a setting, an entry or a record that can't carry the question.

    Examples
    --------
    >>> import frostkit as fk
    >>> w = fk.window(fk.demo(), corn="silage-2300", legume="forage-late", odds=0.8)
    >>> w.to_dict()["window"]["odds_wanted"]
    0.8
    """
    corn, legume = _crop(corn), _crop(legume)
    need, own = None, {}
    if book is not None:
        by_book, read = _book(book)
        corn, need = by_book.own_hybrid(site, corn, read, (by_book.one_of(read, field),))
        own = {} if need is None else {"need_range": need.band[1] - need.need}
    answer = import_module("frostkit.answers.seeding.window").window(
        site,
        corn,
        legume,
        odds=odds,
        after=after,
        not_after=_day(not_after),
        store=store,
        apart=apart,
        late_planting=late_planting,
        seeding=_day(seeding),
        worth=worth,
        per_day=per_day,
        loss=loss,
        also=[_at_other_station(site, one) for one in also],
        workdays=workdays,
        **own,
    )
    if need is not None:
        answer = by_book.with_calibration(answer, need)
    if not track_record:
        return answer
    past = import_module("frostkit.answers.station.track_record")
    asking = import_module("frostkit.answers.seeding.grids").asking
    of = asking(site, corn, legume, after=after, store=store, apart=apart, late=late_planting)
    return past.in_one_line(answer, site, past.seeding_event(of))


def _book(path: str | Path) -> tuple[Any, Any]:
    """What tells other answers of a book, and the book."""
    read = import_module("frostkit.answers.season.book").read_book(path)
    return import_module("frostkit.answers.season.by_book"), read


def _at_other_station(site: Site, source: Source) -> Site:
    """The same field and settings at another station."""
    if site.offset is not None and site.offset.nights.any():
        raise SettingError(
            "A logger tells how the field differs from one station, not from others around it.",
            "Leave out the logger or the other stations.",
        )
    return replace(site, record=_record(source, None, None, {}), neighbours=())


@shown
def choose(
    site: Site,
    seeding: str | int = "05-22",
    *,
    corn: Crop | str | Sequence[Crop | str] = (),
    bean: Crop | str | Sequence[Crop | str] = (),
    odds: float = 0.8,
    after: int = 0,
    growth: str | None = None,
    store: str = "bunker",
    book: str | Path | None = None,
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """Which hybrid and which bean for a place: the largest rating by seeding day, and entries ranked for one day.

    Parameters
    ----------
    site : Site, from `open` or `demo`
    seeding : "MM-DD", the day from which you stand ready to seed the corn
    corn, bean : entries to choose among, by name or path; left out, the library's
    odds : wanted, 0.05 to 0.99: 0.8 is 8 seasons in 10
    after : days from the corn's seeding to the bean's
    growth : what beans must make, "500 degree days" or a stage of theirs; left out, each bean's own goal
    store : where the silage goes: "bunker", "pile", "bag", "upright", "oxygen_limiting"
    book : the fields' book: dried samples of a corn that it tells of move that corn's need
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; its main table "largest_rating" has a row a seeding day, "corn" and "beans" a row an entry

    Raises
    ------
    SettingError, CropError, RecordError
        For a setting, an entry or a record that can't carry the question.

    Examples
    --------
    >>> import frostkit as fk
    >>> c = fk.choose(fk.demo(), "05-22")
    >>> sorted(c.to_dict()["highest"])
    ['grain', 'silage']
    """
    day, corns, beans = _day(seeding), _crops(corn), _crops(bean)
    assert day is not None
    says = None
    if book is not None:
        by_book, read = _book(book)
        corns, says = by_book.own_hybrids(site, corns or entries("corn"), read)
    answer = import_module("frostkit.answers.seeding.choose").choose
    found = answer(site, day, corns, beans, odds=odds, after=after, growth=growth, store=store)
    return says(found) if says else found


def _crops(named: Crop | str | Sequence[Crop | str]) -> list[Crop] | None:
    """Entries by name or path; None where none is named."""
    several = [named] if isinstance(named, Crop | str) else named
    return [one if isinstance(one, Crop) else load(one) for one in several] or None


@shown
def crops(
    *,
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """The library of hybrids and beans: what each needs to its goal, and what kills it in which stage.

    Parameters
    ----------
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; its table has a row an entry

    Examples
    --------
    >>> import frostkit as fk
    >>> fk.crops().to_frame().loc["silage-2300", "rating"]
    np.float64(2300.0)
    """
    return import_module("frostkit.answers.entries").library()


@shown
def frost(
    site: Site,
    threshold: str | float = 0.0,
    *,
    each: bool = False,
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """Last spring and first fall frost of every season, their odds by day, and the days between.

    Parameters
    ----------
    site : Site, from `open` or `demo`
    threshold : degC, or text with F for °F: "28F"; a night counts when its minimum is at or below it
    each : every season stands in the text
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; tables "dates" (by odds), "seasons" (as read, and as they would come today), "odds.first_fall" and
    "odds.last_spring" (a row a day, of the event on or before it)

    Raises
    ------
    SettingError, RecordError
        For a threshold that no frost has, or a record without a season that counts.

    Examples
    --------
    >>> import frostkit as fk
    >>> fk.frost(fk.demo(), threshold="28F").to_dict()["threshold_c"]
    -2.2
    """
    answer = import_module("frostkit.answers.station.frost").frost
    return answer(site, celsius(threshold), each=each)


@shown
def heat(
    site: Site,
    method: str = "mean",
    *,
    base: float | None = None,
    cap: float | None = None,
    first: str | int = "05-01",
    last: str | int = "10-31",
    each: bool = False,
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """Heat gathered between two days of every season, as read and as it would come today.

    Parameters
    ----------
    site : Site, from `open` or `demo`
    method : "mean", "clamped", "sine" or "chu"
    base, cap : degC, of degree days; corn heat units have their own
    first, last : "MM-DD", both counted
    each : every season stands in the text
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; tables "odds" (heat by odds) and "seasons"

    Raises
    ------
    SettingError, RecordError
        For a setting that is not allowed, or a record without a season that counts.

    Examples
    --------
    >>> import frostkit as fk
    >>> fk.heat(fk.demo(), "chu", first="05-15", last="09-15").to_dict()["unit"]
    'CHU'
    """
    answer = import_module("frostkit.answers.station.heat").heat
    return answer(site, method, base=base, cap=cap, first=_day(first), last=_day(last), each=each)


@shown
def track_record(
    site: Site,
    event: str = "first-fall-frost",
    threshold: str | float = 0.0,
    corn: Crop | str | None = "silage-2300",
    legume: Crop | str | None = "forage-late",
    *,
    after: int = 0,
    store: str = "bunker",
    apart: bool = False,
    late_planting: bool = False,
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """Would these odds have been right: asked before each past season, held against what happened.

    Parameters
    ----------
    site : Site, from `open` or `demo`
    event : "first-fall-frost", "last-spring-frost", or "seeding": what `window` prints as made it
    threshold : of the frost, degC, or text with F for °F: "28F"
    corn, legume, after, store, apart, late_planting : of "seeding", as in `window`
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; tables "by_tenths" (odds given against what happened) and "compared" (plainer odds beside them)

    Raises
    ------
    SettingError, CropError, RecordError
        For a setting, an entry or a record that can't carry the question.

    Examples
    --------
    >>> import frostkit as fk
    >>> judged = fk.track_record(fk.demo(), "last-spring-frost").to_dict()["judged"]
    >>> judged["forecasts"] > 0
    True
    """
    answer = import_module("frostkit.answers.station.track_record").track_record
    return answer(
        site,
        event,
        celsius(threshold),
        _crop(corn),
        _crop(legume),
        after=after,
        store=store,
        apart=apart,
        late_planting=late_planting,
    )


@shown
def record(
    site: Site,
    *,
    each: bool = False,
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """What a station's record holds: seasons counted, complete and not observed, days missing, signs of a move.

    Parameters
    ----------
    site : Site, from `open` or `demo`
    each : every season stands in the text
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; its table "seasons" has a row a season

    Examples
    --------
    >>> import frostkit as fk
    >>> fk.record(fk.demo()).to_dict()["counted"] > 50
    True
    """
    return import_module("frostkit.answers.station.record").completeness(site, each=each)


@shown
def record_check(
    site: Site,
    *,
    each: bool = False,
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """Whether a record is good enough: readings that fail the quality checks, days missing, signs of a move.

    Parameters
    ----------
    site : Site, from `open` with check=False: its record as it was read; its neighbours are held against it
    each : every finding and every season stands in the text
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; tables "findings", "seasons", "breaks", "neighbours", and "days" (runs of days without a reading)

    Examples
    --------
    >>> import frostkit as fk
    >>> fk.record_check(fk.demo()).to_dict()["readings"] > 40000
    True
    """
    return import_module("frostkit.answers.station.record").quality(site, each=each)


@shown
def record_field(
    site: Site,
    logger: str | Path,
    *,
    logger_units: str | None = None,
    threshold: str | float = 0.0,
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """How much colder the field is than the station, from the field's own logger, and what that does to its frost.

    Parameters
    ----------
    site : Site, from `open` or `demo`: the station
    logger : a CSV of hours (time, temp_C) or days (date, tmin_C, tmax_C); logger_units : "C" or "F"
    threshold : of the frost that is compared, degC, or text with F for °F: "28F"
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; tables "offset_c", "half" (days by which half the seasons have had frost), "nights", and odds by day

    Raises
    ------
    RecordError
        With fewer than 10 nights in common, or an offset that no field has.

    Examples
    --------
    >>> import frostkit as fk
    >>> from frostkit.demo.place import LOGGER
    >>> fk.record_field(fk.demo(), LOGGER).to_dict()["logger"]["nights"]
    194
    """
    read = import_module("frostkit.records.logger").read_logger(logger, logger_units)
    return import_module("frostkit.answers.station.logger").logged(site, read, celsius(threshold))


def celsius(temperature: str | float) -> float:
    """A temperature in degC, from text such as "-2.2" or "28F", or as it is."""
    return import_module("frostkit.answers.units").celsius(temperature) if isinstance(temperature, str) else temperature


@shown
def chop(
    site: Site,
    corn: Crop | str = "silage-2300",
    *,
    seeding: str | int | None = None,
    today: str | np.datetime64 | None = None,
    silking: str | int | None = None,
    milk_line: float | None = None,
    moisture: float | None = None,
    forecast: str | Path | None = None,
    store: str = "bunker",
    target: tuple[float, float] | None = None,
    legume_share: float = 0.0,
    book: str | Path | None = None,
    field: str = "",
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """When a field is fit to chop, standing on a day of a season: its days so far, then every possible rest.

    Parameters
    ----------
    site : Site, from `open` or `demo`
    corn : name or path of a silage corn's entry, or an entry
    seeding : "MM-DD", the corn's seeding day; 22 May where nothing else was seen
    today : "YYYY-MM-DD"; the day after the record's last reading where left out. Nothing later is looked at
    silking : "MM-DD", the day on which half the plants showed silks
    milk_line : how far it has come down, 0 to 1; moisture : of the whole plant, %: both as seen today
    forecast : a CSV of the coming days
    store : "bunker", "pile", "bag", "upright", "oxygen_limiting"; target : your own range of moisture, low and high, %
    legume_share : part of the wet weight that is legume
    book : the field's book: what it tells of this season of `field` stands in for what is left out above, and dried
        samples of earlier seasons move the corn's need
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; its main table has a row a day ahead, "seasons" a row a past season

    Raises
    ------
    SettingError, CropError, RecordError
        For a setting, an entry or a record that can't carry the question.

    Examples
    --------
    >>> import frostkit as fk
    >>> c = fk.chop(fk.demo(), corn="silage-2300", seeding="05-22", today="2025-08-25")
    >>> c.to_dict()["season"]
    2025
    """
    of = _crop(corn)
    if of is None:
        raise SettingError("There is no corn to chop.", "Name a silage corn, such as silage-2300.")
    given: dict[str, Any] = {
        "seeding": _day(seeding), "silking": _day(silking), "milk_line": milk_line, "moisture": moisture
    }  # fmt: skip
    says = None
    if book is not None:
        by_book, read = _book(book)
        of, given, says = by_book.standing(site, of, read, field, today, given)
    if all(value is None for value in given.values()):
        given["seeding"] = _day(SEEDED)
    coming = None
    if forecast is not None:
        coming = import_module("frostkit.records.forecast").read_forecast(forecast)
    answer: Answer = import_module("frostkit.answers.silage.chop").chop(
        site,
        of,
        today=today,
        forecast=coming,
        store=store,
        target=target,
        legume_share=legume_share,
        **given,
    )
    return answer if says is None else says(answer)


@shown
def region(
    places: str | Path | None = None,
    *,
    stations: str | Path | None = None,
    corn: Crop | str | None = "silage-2300",
    legume: Crop | str | None = "forage-late",
    odds: float = 0.8,
    after: int = 0,
    not_after: str | int | None = None,
    store: str = "bunker",
    apart: bool = False,
    late_planting: bool = False,
    climate: str = TODAY,
    for_season: int | None = None,
    out: str | Path | None = None,
    store_to: str | Path | None = None,
    also: str | Sequence[str] = (),
    seeding: str | int | None = None,
    between: bool = False,
    scheduler: str | None = None,
    workers: int | None = None,
    progress: Callable[[int, int, str], None] | None = None,
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """The seeding window of many places: client fields, the stations of a province, the cells of a grid.

    Parameters
    ----------
    places : folder of station files; list of fields (CSV: name, lat, lon, height, crops, store); CF NetCDF or zarr with
        daily Tmin and Tmax; left out: an invented region's fields
    stations : folder of station files for a list of fields: each field takes the nearest
    corn, legume, odds, after, not_after, store, apart, late_planting : as for `window`; a field's own crops and store
        go before these
    climate, for_season : as for `open`
    out : where the answers go: .zarr, .nc, .csv or .geojson; a run that was stopped goes on there
    store_to : keep a grid's days as a store first
    also : asked of each place beside its window: "frost", "heat", "choose", "late-legume", "track-record"
    seeding : the corn's seeding day for "choose" and "late-legume", as these have it where left out
    between : each field is told from all stations, with the spread between them
    scheduler : address of a dask scheduler that runs already; left out, workers of this machine
    workers : processes of this machine, as many as it has cores where left out; 0: this process alone
    progress : called with (done, of all, what is being done)
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; its table has a row a place, and `answer.settings["dataset"]` holds the odds of each place, crop and day

    Raises
    ------
    SettingError, CropError, RecordError
        For a setting, an entry or places that can't carry the question. A place that can't be answered is no error: it
        is a row with its reason.

    Examples
    --------
    >>> import frostkit as fk
    >>> fk.region("no_such_folder")
    Traceback (most recent call last):
    frostkit.errors.RecordError: no_such_folder is not there.
    Check the path.
    """
    try:
        summary, places_of = (import_module(f"frostkit.region.{name}") for name in ("summary", "places"))
    except ModuleNotFoundError as fault:
        raise SettingError(
            f"Many places at once need the extra 'grid': {fault.name} is not installed.",
            "Install it with pip install 'frostkit[grid]'.",
        ) from None
    if places is None:
        places, stations = import_module("frostkit.demo.region").written()
    asked = import_module("frostkit.region.answer").Question(
        _crop(corn),
        _crop(legume),
        odds,
        after,
        store,
        apart,
        late_planting,
        _day(not_after),
        climate.replace("-", " "),
        for_season,
        also=tuple(name.strip() for one in ([also] if isinstance(also, str) else also) for name in one.split(",")),
        seeding=_day(seeding),
    )
    return summary.region(
        places_of.source_of(places, stations),
        asked.checked(),
        out=out,
        store=store_to,
        between=between,
        scheduler=scheduler,
        workers=workers,
        progress=progress,
    )


@shown
def place(of: Shown, name: str, *, language: str | None = None, units: str | None = None) -> Answer:
    """The window of one place of a region, as `window` has it.

    Parameters
    ----------
    of : what `region` gave
    name : of the place, as its table has it
    language, units : of its text, picture and page, as in `Shown`

    Raises
    ------
    SettingError
        For a name that no place has, or a place without an answer.

    Examples
    --------
    >>> import frostkit as fk
    >>> fk.place(fk.region(workers=0), "field 1").answer.question
    'window'
    """
    single = import_module("frostkit.region.single")
    told = of.answer.settings
    found = single.find(told["source"], told["question"], told["dataset"], name)
    return single.window_at(found, told["question"])


@shown
def fields(
    site: Site,
    fields: str | Path | Sequence[Any] | None = None,
    *,
    store: str = "bunker",
    target: tuple[float, float] | None = None,
    today: str | np.datetime64 | None = None,
    rate: float | None = None,
    hours: float | None = None,
    machines: int | None = None,
    trucks: int | None = None,
    book: str | Path | None = None,
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """Several fields and one chopper: the order and calendar that keep the most tonnes in the right moisture.

    Parameters
    ----------
    site : Site, from `open` or `demo`
    fields : a CSV of fields, the settings file of a farm (TOML), or fields; an invented farm where left out
    store : where silage goes from fields that name no store
    target : your own range of moisture for all, low and high, %
    today : "YYYY-MM-DD", stand on this day of a season; left out: plan from possible seasons alone
    rate : ha an hour; hours : a day; machines : choppers; trucks : for hauling, 0 where it holds nothing up
    book : the fields' book: with a day to stand on, fields are sown and seen as it tells; those chopped are left out
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; its main table has a row a field, in the order in which they are taken

    Raises
    ------
    SettingError, CropError, RecordError
        For a setting, an entry, a file or a record that can't carry the question.

    Examples
    --------
    >>> import frostkit as fk
    >>> f = fk.fields(fk.demo(), rate=2.5)
    >>> len(f.to_frame())
    3
    """
    of = import_module("frostkit.answers.silage.fields")
    said = {"rate": rate, "hours": hours, "machines": machines, "trucks": trucks}
    chopper = of.Chopper(**{name: value for name, value in said.items() if value is not None})
    every = _fields(fields)
    gone: list[str] = []
    if book is not None and today is not None:
        by_book, read = _book(book)
        every, gone = by_book.fields_told(site, every, read, today)
        if not every:
            raise SettingError("Every field is chopped already, as the book tells.", "Say another day, --today.")
    answer: Answer = of.fields(site, every, chopper, store=store, target=target, today=today)
    if not gone:
        return answer
    return answer.with_more([Says("gone", {"fields": tuple(gone)})], {"chopped_already": gone})


def each_field(order: Shown) -> dict[str, Shown]:
    """The chopping answer of every field of an answer of `fields` that stands on a day, by name, in its order."""
    found = import_module("frostkit.answers.silage.fields").each_chop(order.answer)
    return {name: Shown(answer, order.language, order.units) for name, answer in found.items()}


def _fields(source: str | Path | Sequence[Any] | None) -> tuple[Any, ...]:
    """Fields from whatever holds them."""
    if source is not None and not isinstance(source, str | Path):
        return tuple(source)
    path = Path(import_module("frostkit.demo.place").FARM if source is None else source)
    if path.suffix.lower() != ".toml":
        return import_module("frostkit.answers.silage.farm").read_fields(path)
    farm = import_module("frostkit.show.farm")
    return farm.fields(farm.load(path), path.resolve().parent)


@dataclass(frozen=True)
class Page:
    """A page that stands alone.

    html : the page
    """

    html: str

    def save(self, path: str | Path) -> Path:
        """Write it, whole or not at all: `.html`, or `.pdf`. Raises `SettingError` for another ending."""
        return import_module("frostkit.show.pages.page").write(self.html, path)

    def _repr_html_(self) -> str:
        return self.html


def report(
    site: Site,
    corn: Crop | str | None = "silage-2300",
    legume: Crop | str | None = "forage-late",
    *,
    odds: float = 0.8,
    after: int = 0,
    not_after: str | int | None = None,
    store: str = "bunker",
    track_record: bool = True,
    tables: bool = False,
    since: str | Path | None = None,
    language: str | None = None,
    units: str | None = None,
    command: str = "frostkit report",
) -> Page:
    """One page to take home: the seeding window, the late legume, frost, heat, the record, cautions and sources.

    Parameters
    ----------
    site : Site, from `open` or `demo`
    corn, legume, odds, after, not_after, store, track_record : as for `window`
    tables : with every table, sentence and caution in full: two sheets
    since : an older page (HTML) of the same place and question; what moved is said, nothing where it is none
    language, units : of the page, as in `Shown`; left out, those of `frostkit setup`
    command : what makes the page again, as it stands at its foot

    Returns
    -------
    Page, with `html` and `save(path)`

    Raises
    ------
    SettingError, CropError, RecordError
        As `window` does.

    Examples
    --------
    >>> import frostkit as fk
    >>> fk.report(fk.demo(), legume=None).html.count("<h1>")
    1
    """
    crops = [crop for crop in (_crop(corn), _crop(legume)) if crop is not None]
    first = window(
        site,
        corn,
        legume,
        odds=odds,
        after=after,
        not_after=not_after,
        store=store,
        track_record=track_record,
    ).answer
    answers = [first]
    if corn is not None and legume is not None and len(crops) == 2:
        ready = first.values["ready_days"]
        day = "05-20" if ready is None else int(ready["usual"].column)
        answers.append(late_legume(site, corn, legume, seeding=day, odds=odds, store=store).answer)
    answers += [frost(site, threshold).answer for threshold in (0.0, -2.2)]
    answers.append(heat(site, "chu", first="05-15", last="09-15").answer)
    words = import_module("frostkit.show.render.words").words(*_how(language, units))
    before = None if since is None else import_module("frostkit.show.pages.since").read(since)
    made = import_module("frostkit.show.pages.report").report
    html = made(answers, crops, words, whole=tables, before=before, command=command)
    return Page(html)


@shown
def triage(
    site: Site | None = None,
    *,
    at: float | str | None = None,
    hours: float | None = None,
    stage: str = "dent",
    bean: str | None = None,
    low_spot: bool = False,
    moisture: float | None = None,
    store: str = "bunker",
    season: int | None = None,
    on: str | int | None = None,
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """What a frost did to standing corn and bean: certain, possible, not expected; what to look at, and when.

    Parameters
    ----------
    site : where to look for the frost; of no account where `at` is given
    at : lowest temperature of the night in the screen, degC, or text with F for °F: "28F"
    hours : at or below it
    stage : the corn's, "before_v6" to "black_layer", or a leaf or grain stage such as "V5" or "R5"
    bean : "crook", "VC", "V1", "vegetative", "R5" to "R8"; "none" where no bean stands; vegetative where left out
    low_spot : judge the field as a hollow
    moisture : of the whole plant, measured, %; store : where the silage goes
    season : of the record, the last where left out; on : "MM-DD", that night's frost, the first of the fall if left out
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; its main table has a row a part of the plants and a place, "by" a row a source

    Raises
    ------
    SettingError, RecordError
        For a temperature that is no frost, an unknown stage, or a record without such a frost.

    Examples
    --------
    >>> import frostkit as fk
    >>> t = fk.triage(at=-6, stage="dent")
    >>> t.to_dict()["verdicts"]["corn_leaves"]
    'certain'
    """
    of = import_module("frostkit.answers.silage.triage")
    upper = import_module("frostkit.answers.silage.stores").wanted(store).high
    later: tuple = ()
    if at is not None:
        degrees = import_module("frostkit.answers.units").celsius(str(at))
        frost, site = of.Frost(degrees, hours), None
    elif site is None:
        raise SettingError("There is neither a temperature nor a record.", "Give at=-2, or a site to look in.")
    else:
        found, later = of.frost_of(site, season, _day(on))
        frost = found._replace(hours=hours)
    standing = "vegetative" if bean is None else None if bean.lower() == "none" else bean
    return of.triage(
        frost,
        stage,
        bean_stage=standing,
        bean_taken=bean is None,
        low_spot=low_spot,
        moisture=moisture,
        upper_limit=upper,
        site=site,
        later=later,
    )


def live(ask: Callable[..., Shown], *asked: Any, controls: Any = None, **options: Any) -> Any:
    """An answer with controls in a notebook: whatever is moved, heading, picture and table follow.

    Parameters
    ----------
    ask : a public function, such as `window`; asked : what it takes first, such as the site
    controls : for each option that may be moved its values, a list of choices or (first, last, step); left out, those
        that suit the question
    options : as the function takes them; the controls start from these

    Returns
    -------
    an ipywidgets.VBox; needs the extra `notebook`

    Examples
    --------
    >>> import frostkit as fk
    >>> box = fk.live(fk.frost, fk.demo(), threshold=0.0)
    >>> len(box.children)
    2
    """
    return import_module("frostkit.show.notebook").live(ask, *asked, controls=controls, **options)


@shown
def late_legume(
    site: Site,
    corn: Crop | str = "silage-2300",
    legume: Crop | str = "forage-late",
    seeding: str | int = "05-20",
    *,
    ways: Sequence[str | int] = ("with corn", "-1", "1", "v3", "v5", "v7"),
    goal: str | None = None,
    odds: float = 0.8,
    store: str = "bunker",
    rows: str = "ordinary",
    bearing: float = 0.0,
    seen: str | None = None,
    corn_yield: float = 12.0,
    frost: str = "usual",
    cool_nights: bool | None = None,
    label_days: int | None = None,
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """How late a legume can still go into corn, and what it gives: kilogrammes on the light that the corn leaves.

    Parameters
    ----------
    site : Site, from `open` or `demo`
    corn, legume : name or path of an entry, or an entry
    seeding : "MM-DD", the corn's seeding day
    ways : to sow: "with corn", days after it (-1, 1), a leaf collar ("V5") or a stage of the corn, a day ("06-25")
    goal : what it must give by the chop: "300 kg/ha" (dry matter), "270 lb/ac", "0.5 points of protein" (of the
        blend), "30 kg N" (in its tops), "90 days" (vegetative); left out, 300 kg/ha
    odds : wanted, 0.05 to 0.99: 0.8 is 8 seasons in 10
    store : where the silage goes; it decides when the corn is chopped
    rows : of the corn: "ordinary" (30 inches), "wide" (60 inches) or "paired"
    bearing : of rows with gaps, degrees from north
    seen : a collar of this year's corn and its day, "V4 06-18": the corn's clock runs on from it
    corn_yield : corn alone, t/ha of dry matter
    frost : "usual", "tender" or "hardy": which end of the killing temperatures' range counts
    cool_nights : count slowing by cool nights; left out, as the legume's entry says
    label_days : days from the last spraying to feeding, by the label; left out, the longest wait that was found
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; table "ways" has a row a way to sow, "days" a row a sowing day of each, "row_spacing" rows side by side,
    "seasons" a row a season and way

    Raises
    ------
    SettingError, CropError, RecordError
        For a setting, an entry or a record that can't carry the question.

    Examples
    --------
    >>> import frostkit as fk
    >>> late = fk.late_legume(fk.demo(), seeding="05-20", ways=["with corn", "V5"], goal="300 kg/ha")
    >>> with_corn, fifth = late.to_dict()["ways"]
    >>> with_corn["growth_kg_ha"]["middle"] > 5 * fifth["growth_kg_ha"]["middle"]
    True
    """
    return import_module("frostkit.answers.legume.late").late_legume(
        site,
        _named(corn, "corn"),
        _named(legume, "legume"),
        _day(seeding),
        ways=ways,
        goal=goal,
        odds=odds,
        store=store,
        rows=rows,
        bearing=bearing,
        seen=seen,
        corn_yield=corn_yield,
        frost=frost,
        cool_nights=cool_nights,
        label_days=label_days,
    )


def _named(crop: Crop | str, what: str) -> Crop:
    """An entry where one is needed. Raises `SettingError` for "none"."""
    found = _crop(crop)
    if found is None:
        raise SettingError(f"There is no {what} here, and the question is about one.", f"Name it with --{what}.")
    return found


@shown
def season(
    site: Site,
    corn: Crop | str | None = "silage-2300",
    legume: Crop | str | None = "forage-late",
    *,
    seeding: str | int | None = None,
    after: int = 0,
    legume_seeding: str | int | None = None,
    today: str | np.datetime64 | None = None,
    emergence: str | int | None = None,
    collars: float | None = None,
    silking: str | int | None = None,
    milk_line: float | None = None,
    moisture: float | None = None,
    legume_emergence: str | int | None = None,
    forecast: str | Path | None = None,
    store: str = "bunker",
    legume_share: float = 0.0,
    odds: float = 0.8,
    workdays: bool = False,
    book: str | Path | None = None,
    field: str = "",
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """Where this season stands: its days until yesterday, a forecast, then every past season as a possible rest.

    Before seeding: soil now against usual, first fit day ahead, seed today or wait. After it: stages to come as dates
    at odds of 1, 5 and 9 in 10, the odds of a killing frost before each, the next thing to do.

    Parameters
    ----------
    site : Site, from `open` or `demo`
    corn, legume : name or path of an entry, an entry, or None
    seeding : "MM-DD", the corn's seeding day; left out, or not before today: before seeding
    after : days from the corn's seeding to the legume's; legume_seeding : "MM-DD", its own day instead
    today : "YYYY-MM-DD"; the day after the record's last reading where left out. Nothing later is looked at
    emergence, silking, legume_emergence : "MM-DD", the day on which half the plants showed it
    collars : leaf collars of the corn; milk_line : how far it has come down, 0 to 1; moisture : of the whole plant, %:
        all as seen today
    forecast : a CSV of the coming days
    store : where silage goes; legume_share : part of the wet weight that is legume
    odds : wanted of a seeding day; workdays : ready needs a day on which the field can be worked too
    book : the field's book: what it tells of this season of `field` stands in for what is left out above, and dried
        samples of earlier seasons move the hybrid's need
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; tables "coming" and "came" (a row a stage), "fan.corn" and "fan.legume" (heat, a row a day); before seeding
    "days" (a row a seeding day) and "soil" (a row a day)

    Raises
    ------
    SettingError, CropError, RecordError
        For a setting, an entry or a record that can't carry the question.

    Examples
    --------
    >>> import frostkit as fk
    >>> s = fk.season(fk.demo(), seeding="05-22", today="2025-07-10")
    >>> s.to_dict()["stage"]["corn"]
    'v5'
    """
    coming = None
    if forecast is not None:
        coming = import_module("frostkit.records.forecast").read_forecast(forecast)
    read = None
    if book is not None:
        read = import_module("frostkit.answers.season.book").read_book(book)
    return import_module("frostkit.answers.season.season").season(
        site,
        _crop(corn),
        _crop(legume),
        seeding=_day(seeding),
        after_corn=after,
        legume_seeding=_day(legume_seeding),
        today=today,
        emergence=_day(emergence),
        collars=collars,
        silking=_day(silking),
        milk_line=milk_line,
        moisture=moisture,
        legume_emergence=_day(legume_emergence),
        forecast=coming,
        store=store,
        legume_share=legume_share,
        odds=odds,
        workdays=workdays,
        book=read,
        field=field,
    )


@shown
def rows(
    site: Site,
    corn: Crop | str = "silage-2300",
    seeding: str | int = "05-20",
    *,
    bearing: float | None = None,
    day: str | int = "06-21",
    store: str = "bunker",
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """Light on the ground between rows of corn: north-south, east-west and your own, 30 and 60 inches apart.

    Parameters
    ----------
    site : Site, from `open` or `demo`
    corn : name or path of an entry, or an entry; seeding : "MM-DD", its seeding day
    bearing : of the field's own rows, degrees from north, 0 to 359
    day : "MM-DD", the day whose hours are told
    store : where the silage goes; it decides when the corn is chopped
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; table "season" has a row a spacing, "hours" a row a half hour, "days" a row a day

    Raises
    ------
    SettingError, CropError, RecordError
        For a setting, an entry or a record that can't carry the question.

    Examples
    --------
    >>> import frostkit as fk
    >>> usual, wide = fk.rows(fk.demo(), bearing=30.0).to_dict()["season"]
    >>> usual["east_west"] < wide["east_west"]
    True
    """
    return import_module("frostkit.answers.legume.rows").rows(
        site, _named(corn, "corn"), _day(seeding), bearing=bearing, day=_day(day), store=store
    )


@shown
def worth(
    site: Site,
    corn: Crop | str = "silage-2300",
    legume: Crop | str = "forage-late",
    seeding: str | int = "05-20",
    *,
    way: str | int = "with corn",
    growth: float | Sequence[float] | None = None,
    corn_yield: float | Sequence[float] = 12.0,
    corn_protein: float | Sequence[float] | None = None,
    bean_protein: float | Sequence[float] | None = None,
    kept: float | Sequence[float] | None = None,
    stubble: float | Sequence[float] | None = None,
    grazed: bool = False,
    new_land: bool = True,
    animal: float = 635.0,
    prices: dict[str, float] | None = None,
    soil_ppm: float | None = None,
    depth: float = 30.0,
    rows: str = "ordinary",
    store: str = "bunker",
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """What a legume in corn is worth, line by line: protein, nitrogen, grazing, cover, seed and, with prices, money.

    Parameters
    ----------
    site : Site, from `open` or `demo`
    corn, legume, seeding, way, rows, store : as in `late_legume`
    growth : legume standing at the chop, kg/ha of dry matter; left out, what it makes on the light that the corn leaves
    corn_yield : corn alone, t/ha of dry matter
    corn_protein, bean_protein : % of dry matter
    kept : corn beside the legume, of corn alone; stubble : share of the legume that stays below the cut or falls
    grazed : the legume is left for grazing and cover, not chopped
    new_land : the field never had the legume: double inoculation
    animal : weight of one grazing animal, kg
    prices : of "seed_kg", "inoculant_dose_ha", "pass_ha", "silage_t", "protein_kg", "nitrogen_kg", "grazing_day", in
        any money; there is none without them
    soil_ppm, depth : nitrate nitrogen of a spring soil test, ppm, to a depth in cm

    `growth`, `corn_yield`, proteins, `kept` and `stubble` are one number each, or three: least, usual, most.
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; table "lines" has a row a line: low, middle, high, unit, source

    Raises
    ------
    SettingError, CropError, RecordError
        For a setting, an entry or a record that can't carry the question.

    Examples
    --------
    >>> import frostkit as fk
    >>> w = fk.worth(fk.demo(), growth=1200, corn_yield=12, kept=1)
    >>> lines = {line["name"]: line for line in w.to_dict()["lines"]}
    >>> lines["nitrogen_in_bean"]["middle"]
    34.56
    """
    return import_module("frostkit.answers.legume.lines").worth(
        site,
        _named(corn, "corn"),
        _named(legume, "legume"),
        _day(seeding),
        way=way,
        growth=growth,
        corn_yield=corn_yield,
        corn_protein=corn_protein,
        bean_protein=bean_protein,
        kept=kept,
        stubble=stubble,
        grazed=grazed,
        new_land=new_land,
        animal=animal,
        prices=prices,
        soil_ppm=soil_ppm,
        depth=depth,
        rows=rows,
        store=store,
    )


@shown
def tonight(
    site: Site,
    tmin: str | float | None = None,
    *,
    scatter: float | None = None,
    sky: str = "clear",
    forecast: str | Path | None = None,
    corn: Crop | str | None = "silage-2300",
    legume: Crop | str | None = "forage-late",
    seeding: str | int | None = None,
    after: int = 0,
    today: str | np.datetime64 | None = None,
    stage: str | None = None,
    bean: str | None = None,
    farm: str | Path | None = None,
    book: str | Path | None = None,
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """Frost tonight: the odds that each field reaches what hurts its corn and its bean in their stage of today.

    Parameters
    ----------
    site : Site, from `open` or `demo`; of a farm's fields each has its own
    tmin : the forecast's minimum at the station, degC, or text with F for °F; or `forecast`, a CSV of the coming days,
        whose second day is the morning after tonight
    scatter : standard deviation of that forecast, degC; left out, the file's, else 2
    sky : "clear" or "cloudy": what a low spot goes by
    corn, legume, seeding, after : what stands at the site, where no farm is named
    today : "YYYY-MM-DD", the day before the night
    stage, bean : as `triage` names them, where you know better than the heat
    farm : the settings file of a farm, all of whose fields are told; book : its book, else the one beside it
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; its table has a row a field, part of a plant and place: in the open, at the canopy's top, within it

    Raises
    ------
    SettingError, CropError, RecordError
        For a minimum that no forecast has, or a record without days of this season since seeding.

    Examples
    --------
    >>> import frostkit as fk
    >>> t = fk.tonight(fk.demo(), -1.0, scatter=1.5, stage="dent", bean="vegetative", today="2025-09-08")
    >>> t.to_dict()["fields"][0]["possible"] > 0.5
    True
    """
    of = import_module("frostkit.answers.season.tonight")
    grown = import_module("frostkit.show.grown")
    back = import_module("frostkit.answers.season.back")
    year, now, date_of_today = import_module("frostkit.answers.silage.chop").today_of(site, today)
    before = later = float("nan")
    if forecast is not None:
        coming = import_module("frostkit.records.forecast").read_forecast(forecast).since(date_of_today)
        if coming.tmin.size < 2:
            raise SettingError("The forecast has no morning after tonight.", "Give tomorrow's minimum too.")
        before, later = float(coming.tmax[0]), float(coming.tmax[1])
        tmin = float(coming.tmin[1]) if tmin is None else tmin
        own = float(coming.tmin_spread[1])
        scatter = own if scatter is None and own > 0 else scatter
    if tmin is None:
        raise SettingError("There is no minimum for tonight.", "Give tmin, such as -1.5, or a forecast.")
    night = of.night(celsius(tmin), scatter, sky, before, later)
    if farm is not None:
        fields = grown.tonight_fields(grown.grown(farm), grown.book_of(farm, book), year, now)
    else:
        alone = back.Grown(site, _crop(corn), _crop(legume), after)
        known = grown.as_told(grown.book_of(None, book), "", year, now)
        fields = {site.station.name or "field": of.Field(alone, _day(seeding), None, known.seen)}
    if stage is not None or bean is not None:
        fields = {name: replace(one, corn_stage=stage, legume_stage=bean) for name, one in fields.items()}
    return of.tonight(night, fields, year, now)


@shown
def book(
    site: Site,
    book: str | Path | None = None,
    *,
    farm: str | Path | None = None,
    corn: Crop | str | None = "silage-2300",
    store: str = "bunker",
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """The field's book, looked back on: what the odds said on each day, what happened, what samples say of a hybrid.

    Parameters
    ----------
    site : Site, from `open` or `demo`: where the fields lie, where no farm is named
    book : a TOML or CSV book; left out, the one beside the farm's settings file
    farm : the settings file of a farm, whose fields have their own records, crops and stores
    corn, store : of every field, where no farm is named
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; tables "entries" (what stands in it), "looks" (what was said and what happened) and "samples"

    Raises
    ------
    SettingError
        For a book with a slip in it, each with its line, or where there is none.

    Examples
    --------
    >>> import frostkit as fk
    >>> from frostkit.demo.place import BOOK
    >>> fk.book(fk.demo(), BOOK).to_dict()["needs"][0]["samples"]
    2
    """
    grown = import_module("frostkit.show.grown")
    back = import_module("frostkit.answers.season.back")
    read = grown.book_of(farm, book)
    if read is None:
        raise SettingError("There is no book.", "Name one, or begin it with: frostkit book add FIELD sown --on DATE")
    if farm is not None:
        fields = grown.grown(farm)
    else:
        fields = {name: back.Grown(site, _crop(corn), None, 0, store) for name in read.fields()}
    return back.book(read, fields)


@shown
def workdays(
    site: Site,
    soil: str = "loam",
    *,
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """On how many days of each week of April, May, June and September the field can be worked.

    Parameters
    ----------
    site : Site, from `open` or `demo`, with rain in its record
    soil : "loam" or "sand"
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; its table has a row a week

    Raises
    ------
    SettingError, RecordError
        For a soil that is not known, or a record without rain.

    Examples
    --------
    >>> import frostkit as fk
    >>> w = fk.workdays(fk.demo())
    >>> 0 < w.to_dict()["months"]["may"]["usual"] < 31
    True
    """
    return import_module("frostkit.answers.working").working_days(site, soil)


@shown
def winter(
    site: Site,
    corn: Crop | str | None = "silage-2300",
    legume: Crop | str | None = "forage-late",
    *,
    after: int = 0,
    odds: float = 0.8,
    store: str = "bunker",
    not_after: str | int | None = None,
    farm: str | Path | None = None,
    language: str | None = None,
    units: str | None = None,
) -> Answer:
    """The winter's plan: soil ready, frosts, heat and largest rating by seeding day, fields, seed, label, insurer.

    Parameters
    ----------
    site : Site, from `open` or `demo`; of a farm's fields each has its own
    corn, legume, after, store, not_after : as in `window`, where no farm is named
    odds : wanted, 0.05 to 0.99
    farm : the settings file of a farm, all of whose fields are planned
    language, units : of its text, picture and page, as in `Shown`

    Returns
    -------
    Shown; tables "seeding" (a row a seeding day), "fields", "frosts", "seed", and "weeks" where the record has rain

    Raises
    ------
    SettingError, CropError, RecordError
        For a setting, an entry or a record that can't carry the question.

    Examples
    --------
    >>> import frostkit as fk
    >>> w = fk.winter(fk.demo())
    >>> w.tables[:2]
    ('seeding', 'fields')
    """
    of = import_module("frostkit.answers.season.winter")
    if farm is not None:
        return of.winter(import_module("frostkit.show.grown").planned(farm), odds)
    back = import_module("frostkit.answers.season.back")
    alone = of.Planned(back.Grown(site, _crop(corn), _crop(legume), after, store), _day(not_after))
    return of.winter({site.station.name or "field": alone}, odds)
