"""`frostkit window`: when can corn and legume be seeded, and how sure is that?"""

import click

from frostkit.show.commands.options import (
    CSV,
    DAY,
    FORCE,
    JSON,
    MONEY,
    ODDS,
    answered,
    field_options,
    open_behind,
    record_options,
)
from frostkit.show.printed import echo


@click.command(
    short_help="When can corn and legume be seeded?",
    epilog="""\b
Examples:
  frostkit window
  frostkit window river_flat.csv --corn silage-2300 --legume forage-late
  frostkit window eccc_folder --after 1 --not-after 06-05
  frostkit window station.dly --seeding 05-28 --picture window.png
  frostkit window station.dly --colder-by 2
  frostkit window station.dly --logger low_corner.csv
  frostkit window station.dly --worth 900 --per-day 6 --loss 400
  frostkit window near.dly --also far.dly --field-at 49.9 -99.9
  frostkit window station.dly --csv > odds.csv""",
)
@record_options
@field_options
@click.option("--corn", default="silage-2300", show_default=True, help="Corn entry, a TOML file, or 'none'.")
@click.option("--legume", default="forage-late", show_default=True, help="Legume entry, a TOML file, or 'none'.")
@click.option(
    "--after", default=0, show_default=True, help="Days from the corn's seeding to the legume's: -1, 0, 1, 2 ..."
)
@click.option("--odds", type=ODDS, default=0.8, show_default=True, help="Odds wanted: 0.8 is 8 seasons in 10.")
@click.option("--apart", is_flag=True, help="Each crop to its own goal in the open, not chopped together.")
@click.option(
    "--late-planting",
    is_flag=True,
    help="The corn needs less the later it is seeded, as measured in Indiana and Ohio: see its entry.",
)
@click.option("--seeding", type=DAY, help="Odds of this one seeding day.")
@click.option("--not-after", type=DAY, help="Your own last seeding day, an insurer's deadline say.")
@click.option("--worth", type=MONEY, help="What a seeding that works brings, sown on 15 April: money or any unit.")
@click.option("--per-day", type=MONEY, default=0.0, help="How much less each day later brings, in that unit.")
@click.option("--loss", type=MONEY, default=0.0, help="What a seeding that fails costs, in that unit.")
@click.option("--also", multiple=True, metavar="RECORD", help="Another station around the field; again for more.")
@click.option("--picture", type=click.Path(dir_okay=False), help="Draw the window into this file (.png, .svg, .pdf).")
@FORCE
@JSON
@CSV
def command(
    record,
    input_units,
    seasons,
    field_at,
    corn,
    legume,
    after,
    odds,
    apart,
    late_planting,
    seeding,
    not_after,
    worth,
    per_day,
    loss,
    also,
    picture,
    as_json,
    as_csv,
):
    """When corn and legume can be seeded together, as odds over the record's own seasons.

    RECORD is a file or a folder of yearly files of one station, or a station that is kept; without one the answer is
    for the invented place River Flat.
    """
    from frostkit.answers.seeding import seeding as answer_seeding
    from frostkit.crops.entry import load
    from frostkit.show.machine.rows import one_kind

    one_kind(as_json, as_csv)
    if worth is None and (per_day or loss):
        raise click.UsageError("--per-day and --loss go with --worth.")
    crops = [None if name.lower() == "none" else load(name) for name in (corn, legume)]
    wanted = {"odds": odds, "after": after, "not_after": not_after, "apart": apart, "late_planting": late_planting}
    stations = [open_behind(name, input_units, seasons, field_at) for name in (record, *also)]
    answers = [answered(behind, answer_seeding, *crops, **wanted) for behind in stations]
    answer = answers[0]
    said: dict = {}
    lines: list[str] = []
    if worth is not None:
        from frostkit.answers.pays import pays
        from frostkit.show.machine.pays import pays_dict
        from frostkit.show.tables.pays import pays_lines

        paid = pays(answer, worth, per_day, loss)
        said["pays"] = pays_dict(paid)
        lines += pays_lines(paid)
    if also:
        from frostkit.answers.around import around
        from frostkit.show.machine.around import around_dict
        from frostkit.show.tables.around import around_lines

        together = around(answers)
        said["around"] = around_dict(together)
        lines += around_lines(together)
    if picture:
        from frostkit.show.look import save
        from frostkit.show.pictures.seeding import seeding_window

        save(seeding_window(answer), picture)
    if as_json:
        from frostkit.show.machine.parts import text
        from frostkit.show.machine.seeding import one_day, window

        echo(text({**window(answer), **({} if seeding is None else one_day(answer, seeding)), **said}))
        return
    if as_csv:
        from frostkit.show.machine.rows import write
        from frostkit.show.machine.seeding import odds_rows

        write(odds_rows(answer, seeding), answer.cautions)
        return
    from frostkit.show.tables.seeding import window_text

    echo(window_text(answer, seeding, lines))
    if picture:
        echo(f"Picture: {picture}")
