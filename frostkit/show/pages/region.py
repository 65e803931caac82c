"""A page for each place of a region: the report of its window, as for a single station."""

from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from itertools import repeat
from pathlib import Path
from typing import Any

from frostkit.answers.answer import Answer
from frostkit.errors import FrostkitError, SettingError
from frostkit.region.answer import Question
from frostkit.region.places import Fields, Source, Stations, blocks
from frostkit.region.single import crops_of, names_of, window_at
from frostkit.show.pages import since
from frostkit.show.pages.page import file_name, typed, write
from frostkit.show.pages.report import report
from frostkit.show.render.words import words
from frostkit.show.written import may_replace


def field_pages(
    answer: Answer,
    folder: str | Path,
    language: str = "en",
    units: str = "metric",
    progress: Callable[[int, int, str], None] | None = None,
    workers: int | None = None,
) -> dict[str, Path]:
    """A page for each field of a list, or each station of a folder, that has an answer; their paths by name.

    Raises `SettingError` for a grid, or a folder that can't be made.
    """
    source, question = answer.settings["source"], answer.settings["question"]
    if not isinstance(source, Fields | Stations):
        raise SettingError("A grid's cells get no pages.", "Give a list of fields, or a folder of stations.")
    room = Path(folder)
    try:
        room.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise SettingError(f"The folder '{room}' can't be made: {fault.strerror}.", "Choose another one.") from None
    taken: set[str] = set()
    names = names_of(source, answer.settings["dataset"])
    paths = [room / f"{file_name(name or 'place', taken)}.html" for name in names]
    for path in paths:  # all of them are looked at before one is written
        may_replace(path, "page")
    every = range(blocks(source))
    own = [paths[block * source.block : (block + 1) * source.block] for block in every]
    made: set[Path] = set()
    with ProcessPoolExecutor(workers) as pool:
        how = (repeat(source), repeat(question), every, own, repeat((language, units, typed())))
        for done, some in enumerate(pool.map(_pages, *how)):
            made |= set(some)
            if progress is not None:
                progress(done + 1, len(every), "blocks of pages")
    return {name: path for name, path in zip(names, paths, strict=True) if path in made}


def _pages(source: Source, question: Question, block: int, paths: list[Path], how: tuple[str, str, str]) -> list[Path]:
    """The pages of a block's places; fields of one station and one question are answered once."""
    language, units, command = how
    say, made = words(language, units), []
    kept: dict[Any, Answer] = {}
    for place, path in zip(source.read(block, question.climate, question.for_season).places, paths, strict=True):
        if place.site is None:
            continue
        corn, legume = crops_of(place, question)
        store = place.store or question.store
        key = id(place.site.record), corn and corn.name, legume and legume.name, store, place.site.latitude
        try:
            if key not in kept:
                kept[key] = window_at(place, question)
        except FrostkitError:
            continue  # its row in the table says why
        of = replace(kept[key], site=place.site)
        crops = [crop for crop in (corn, legume) if crop is not None]
        made.append(write(report([of], crops, say, before=since.read(path), command=command), path))
    return made
