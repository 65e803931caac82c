"""Through the season: before seeding, seed today or wait; after it, where the field stands and what comes next."""

from frostkit.answers.answer import Answer, checked_odds
from frostkit.answers.season.after import Sown, after
from frostkit.answers.season.before import before
from frostkit.answers.season.book import Book, told
from frostkit.answers.season.by_book import one_of, own_hybrid, with_calibration
from frostkit.answers.season.seen import Observed, Valued, observed
from frostkit.answers.silage.chop import Today, today_of
from frostkit.answers.silage.stores import wanted
from frostkit.crops.entry import Crop
from frostkit.ensemble.pin import pinned
from frostkit.ensemble.site import Site
from frostkit.errors import SettingError
from frostkit.records.forecast import Forecast
from frostkit.seasons.calendar import SEASON_END, column, words


def season(
    site: Site,
    corn: Crop | None,
    legume: Crop | None = None,
    *,
    seeding: int | None = None,
    after_corn: int = 0,
    legume_seeding: int | None = None,
    today: Today | None = None,
    emergence: int | None = None,
    collars: Valued = None,
    silking: int | None = None,
    milk_line: Valued = None,
    moisture: Valued = None,
    legume_emergence: int | None = None,
    forecast: Forecast | None = None,
    store: str = "bunker",
    legume_share: float = 0.0,
    odds: float = 0.8,
    workdays: bool = False,
    frost: str = "usual",
    book: Book | None = None,
    field: str = "",
) -> Answer:
    """Where this season stands, from its days until yesterday, a forecast, and every past season as a possible rest.

    Parameters
    ----------
    site : Site; its season asked for is of no account: today's is
    corn, legume : entries, at least one
    seeding : column of the corn's seeding; left out, or not before today: it is still to be sown
    after_corn : days from the corn's seeding to the legume's; legume_seeding : its own column instead
    today : date; left out, the day after the record's last reading
    emergence, silking, legume_emergence : columns on which they were seen
    collars : leaf collars of the corn; milk_line : share, 0 to 1; moisture : percent: a number as seen today, or
        (number, column)
    forecast : of the coming days; store : where silage goes; legume_share : of the wet weight
    odds : wanted of a seeding day; workdays : ready needs a day on which the field can be worked too
    frost : "usual", "tender" or "hardy"
    book : the field's book; what it tells of `field` this season, until the evening before today, stands in for what is
        left out, and dried samples of earlier seasons move the corn's need

    Raises
    ------
    SettingError
        For days in the wrong order or settings that are not allowed.
    RecordError
        For a record without days of this season since seeding, or without an earlier season that counts.
    """
    if corn is None and legume is None:
        raise SettingError("There is no crop to look at.", "Name a corn, a legume or both.")
    odds, limits = checked_odds(odds), wanted(store)
    year, now, date_of_today = today_of(site, today)
    if now > column(*SEASON_END):
        raise SettingError(
            f"Today, {words(now)}, is after the end of the season, {words(column(*SEASON_END))}.",
            "Give an earlier day, or look ahead with: frostkit winter.",
        )
    if not 0 <= legume_share < 1:
        raise SettingError(
            f"A legume share of {legume_share:g} is outside 0 to 1.", "Give a share of the wet weight, such as 0.1."
        )
    seen = observed(now, emergence, collars, silking, milk_line, moisture, legume_emergence)
    need = None
    if book is not None:
        field = one_of(book, field)
        known = told(book.of(field, year), now)
        seen = seen.or_else(known.seen)
        seeding = known.seeding if seeding is None else seeding
        legume_seeding = known.legume_seeding if legume_seeding is None else legume_seeding
        corn, need = own_hybrid(site, corn, book, (field,), before=year)
    coming = None if forecast is None else forecast.since(date_of_today)
    if seeding is None or seeding >= now:
        _nothing_seen(seen, seeding)
        return before(
            site,
            corn,
            legume,
            year,
            now,
            coming,
            seeding=seeding,
            after=after_corn,
            store=limits.name,
            odds=odds,
            workdays=workdays,
        )
    sown = Sown(
        corn,
        legume,
        seeding,
        seeding + after_corn if legume_seeding is None else legume_seeding,
        limits,
        seen,
        legume_share,
        frost,
    )
    answer = after(site, pinned(site, year, now, coming), sown)
    return answer if need is None else with_calibration(answer, need)


def _nothing_seen(seen: Observed, seeding: int | None) -> None:
    if not seen.anything:
        return
    when = "" if seeding is None else f" on {words(seeding)}"
    raise SettingError(
        f"Something was seen of a crop that is still to be sown{when}.", "Give the day on which it was sown, --seeding."
    )
