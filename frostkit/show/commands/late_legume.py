"""`frostkit late-legume`: how late can the legume still go in, and what do I get for it?"""

import click

from frostkit.show.commands.options import DAY, FORCE, JSON, ODDS, answered, field_options, open_behind, record_options
from frostkit.show.printed import echo


@click.command(short_help="How late can the legume still go in?", epilog="""\b
Examples:
  frostkit late-legume
  frostkit late-legume station.dly --seeding 05-20 --when 0 --when v5 --when 06-25
  frostkit late-legume --bean forage-late --bean soybean-5 --bean grain-00
  frostkit late-legume eccc_folder --growth "90 days" --picture late.png""")  # fmt: skip
@record_options
@field_options
@click.option("--corn", default="silage-2300", show_default=True, help="Corn entry, or a TOML file.")
@click.option("--bean", "beans", multiple=True, default=["forage-late"], show_default=True,
              help="Bean entry, or a TOML file; again for more.")  # fmt: skip
@click.option("--seeding", type=DAY, default="05-20", show_default=True, help="The corn's seeding day.")
@click.option("--when", multiple=True, default=["0", "-1", "1", "v5"], show_default=True,
              help="Days after the corn, a stage of the corn, or MM-DD; again for more.")  # fmt: skip
@click.option("--growth", help="'500 degree days', '90 days' (vegetative), or a stage.")
@click.option("--odds", type=ODDS, default=0.8, show_default=True, help="Odds wanted: 0.8 is 8 seasons in 10.")
@click.option("--frost", type=click.Choice(["usual", "tender", "hardy"]), default="usual", show_default=True,
              help="Which end of the killing temperatures' range counts.")  # fmt: skip
@click.option("--cool-nights/--no-cool-nights", default=None, help="Slowing by cool nights.")
@click.option("--picture", type=click.Path(dir_okay=False), help="Draw the stages into this file (.png, .svg, .pdf).")
@FORCE
@JSON
def command(
    record,
    input_units,
    seasons,
    field_at,
    corn,
    beans,
    seeding,
    when,
    growth,
    odds,
    frost,
    cool_nights,
    picture,
    as_json,
):
    """What a legume sown with, into or between the corn still makes before the chop, as odds over real seasons.

    Within the corn its time ends at the corn's chop or its own killing frost, whichever is first; the corn shelters it
    from its closing until it browns or is chopped.
    """
    from frostkit.answers.late_legume import late_legume
    from frostkit.crops.entry import load

    behind = open_behind(record, input_units, seasons, field_at)
    answer = answered(
        behind,
        late_legume,
        load(corn),
        [load(bean) for bean in beans],
        seeding,
        when=when,
        growth=growth,
        odds=odds,
        frost=frost,
        cool_nights=cool_nights,
    )
    if picture:
        from frostkit.show.look import save
        from frostkit.show.pictures.late_legume import season_strips

        save(season_strips(answer), picture)
    if as_json:
        from frostkit.show.machine.late_legume import late_legume as as_dict
        from frostkit.show.machine.parts import text

        echo(text(as_dict(answer)))
        return
    from frostkit.show.tables.late_legume import late_legume_text

    echo(late_legume_text(answer))
    if picture:
        echo(f"Picture: {picture}")
