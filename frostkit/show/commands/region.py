"""`frostkit region`: the window of many places at once: client fields, stations of a province, cells of a grid."""

from pathlib import Path

import click

from frostkit.show.commands.crop_options import AFTER, CORN, LEGUME, ODDS, STORE
from frostkit.show.commands.options import DAY, with_options
from frostkit.show.commands.question import OPEN, OUT, PICTURE, show_file, write


@click.command(
    "region",
    epilog="""\b
Examples:
  frostkit region --page region.html
  frostkit region stations_folder
  frostkit region my_fields.csv --stations stations_folder --out fields.csv --pages pages --page region.html
  frostkit region my_fields.csv --stations stations_folder --also frost --also choose
  frostkit region grid.nc --store-to grid.zarr --climate as-read --out answers.zarr
  frostkit region grid.zarr --scheduler tcp://10.0.0.1:8786 --out answers.zarr --picture map.png""",
)
@click.argument("places", required=False, type=click.Path())
@click.option(
    "--stations",
    type=click.Path(file_okay=False),
    metavar="FOLDER",
    help="Station files for a list of fields: each field takes the nearest.",
)
@CORN
@LEGUME
@AFTER
@ODDS
@STORE
@click.option("--apart", is_flag=True, help="Each crop to its own goal in the open, not chopped together.")
@click.option("--late-planting", is_flag=True, help="The corn needs less the later it is seeded: see its entry.")
@click.option("--not-after", type=DAY, help="Your own last seeding day, an insurer's deadline say.")
@click.option(
    "--climate",
    type=click.Choice(["today", "as-read"]),
    default="today",
    show_default=True,
    help="Past seasons as they would come in today's climate, or as they were read.",
)
@click.option("--for-season", type=int, metavar="YEAR", help="Odds for that season, from earlier seasons alone.")
@click.option(
    "--out",
    type=click.Path(),
    metavar="FILE",
    help="Where the answers go: .zarr, .nc, .csv, .geojson; a run that was stopped goes on there.",
)
@click.option(
    "--store-to",
    type=click.Path(),
    metavar="FOLDER",
    help="Keep a grid's days as a store first: to ask it often, or from many workers.",
)
@click.option(
    "--also",
    multiple=True,
    metavar="QUESTION",
    help="Beside the window: frost, heat, choose, late-legume, track-record; may be given more than once.",
)
@click.option("--seeding", type=DAY, help="The corn's seeding day, for choose and late-legume.")
@click.option("--between", is_flag=True, help="Tell each field from all stations, with the spread between them.")
@click.option("--scheduler", metavar="ADDRESS", help="A dask scheduler that runs already; left out, this machine.")
@click.option("--workers", type=click.IntRange(0), help="Processes of this machine; left out, as many as it has cores.")
@click.option(
    "--pages",
    type=click.Path(file_okay=False),
    metavar="FOLDER",
    help="Write a page for each field of a list into this folder.",
)
@click.option(
    "--page",
    type=click.Path(dir_okay=False),
    metavar="FILE",
    help="Write the region as a page (.html): its map to click on, its places by name.",
)
@PICTURE
@OPEN
@with_options(*OUT)
def command(page, pages, picture, opens, as_json, as_csv, table, whole, cautions, language, units, **asked):
    """The seeding window of many places at once.

    PLACES is a folder of station files, a list of fields (CSV: name,lat,lon,height,crops,store), or a grid of daily
    Tmin and Tmax (CF NetCDF or zarr). Left out, they are the fields of an invented region.
    """
    from frostkit import public
    from frostkit.show.commands.progress import progress
    from frostkit.show.printed import echo

    with progress() as step:
        answer = public.region(asked.pop("places"), progress=step, language=language, units=units, **asked)
    quiet = bool(as_json or as_csv)
    write(answer, as_json, as_csv, table, picture, whole, cautions, opens and not page)
    made = {}
    if pages:
        from frostkit.show.pages.region import field_pages

        with progress() as step:
            made = field_pages(answer.answer, pages, answer.language, answer.units, step)
        echo(f"Pages: {len(made)} in {pages}", err=quiet)
    if page:
        from frostkit.show.pages.page import typed, write as write_page
        from frostkit.show.pages.places import page as of_places

        html = of_places(answer.answer, answer._words(), pages=made, beside=Path(page).parent, command=typed())
        echo(f"Page: {write_page(html, page)}", err=quiet)
        if opens:
            show_file(page)
