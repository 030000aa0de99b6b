"""What the commands on houses share: pick a house, gather its evidence, a desk for walks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from loadlib.core.category import Category
from loadlib.core.claims import LoadClaim
from loadlib.core.evidence import Evidence
from loadlib.core.household import Appliance, House
from loadlib.errors import InputError, NotFound

if TYPE_CHECKING:
    from loadlib.labels import RatingLabel

__all__ = ["StoreDesk", "check_label", "evidence_for", "plugin_and_path", "plugin_files"]


def plugin_and_path(pair: str, what: str = "--file ") -> tuple[str, str]:
    """``PLUGIN=PATH`` in its two parts; ``what`` is said before it when it is none."""
    name, _, path = pair.partition("=")
    if not name.strip() or not path:
        raise InputError(f"{what}{pair}", hint="Write PLUGIN=PATH, with the path of the file.")
    return name.strip(), path


def plugin_files(pairs: Sequence[str], what: str = "--file ") -> dict[str, tuple[str, ...]]:
    """``PLUGIN=PATH`` texts as {plugin: (path, ...)}.

    Raises
    ------
    InputError
        for a path that is no file.
    NotFound
        for a plugin that is not installed or brings no estimator.
    """
    files: dict[str, tuple[str, ...]] = {}
    for pair in pairs:
        name, path = plugin_and_path(pair, what)
        if not Path(path).is_file():
            raise InputError(f"{what}{pair}: no such file", hint=f"Looked in {Path.cwd()}.")
        files[name] = (*files.get(name, ()), path)
    known = _file_takers() if files else ()
    for name in files:
        if name not in known:
            raise NotFound(
                "plugin that takes files",
                name,
                near=known,
                hint=f"Those that do: {', '.join(known) or 'none is installed'}. A usage file or a "
                "log needs no plugin: loadlib usage add, loadlib reading log.",
            )
    return files


def _file_takers() -> tuple[str, ...]:
    """Estimators of plugins; what loadlib itself reads comes by other commands."""
    from loadlib.host import BUILT_IN, Host

    host = Host.load()
    return tuple(name for name, _ in host.estimators() if host.owner(name).module not in BUILT_IN)


def evidence_for(house: str, *, files: Sequence[str] = ()) -> Evidence:
    """All that is known of a stored house, or of a house file (``.toml``) alone.

    ``files`` stand in place of those kept for the same plugin. NotFound for a kept file that
    is gone.
    """
    given = plugin_files(files)
    if house.endswith(".toml"):
        from loadlib.estimating import evidence_of
        from loadlib.exchange.house_toml import house_from_toml
        from loadlib.files import read_text

        evidence = evidence_of(house_from_toml(read_text(Path(house)), path=house))
    else:
        from loadlib.store.evidence import load_evidence
        from loadlib.store.houses import pick

        evidence = load_evidence(pick(house))
    together = {**evidence.files, **given}
    for plugin, paths in together.items():
        for path in paths:
            if not Path(path).is_file():
                raise NotFound(
                    f"file of {plugin}",
                    path,
                    hint="It was kept with the house. Put it back, or forget it: "
                    f"loadlib house file --forget {plugin}={path}",
                )
    return replace(evidence, files=together)


def check_label(name: str, text: str) -> None:
    """Refuse the text of a label that is no load: impossible, or a source, breaker or service.

    Text in which nothing can be read is kept, since it may be mended later. The name is read
    with it, so that ``generator 7500W`` is known for a source.

    Raises
    ------
    InputError
        with the reason.
    """
    from loadlib.labels import read_label

    if not text.strip():
        return
    alone, named = read_label(text).refused, read_label(f"{name} {text}").refused
    reason = alone or (named if named and named.startswith("a source rating") else None)
    if reason is None or reason.startswith(("nothing electrical", "supply voltage only")):
        return
    raise InputError(
        f"{name}: {text!r} is no load: {reason}",
        hint=f"Nothing was stored. Type its own rating label, or leave it out: {name}",
    )


class StoreDesk:
    """The desk of a walk on a stored house."""

    def __init__(self, name: str) -> None:
        self.name = name
        self._known: dict[str, Category | None] = {}

    def house(self) -> House:
        from loadlib.store.houses import load

        return load(self.name)

    def edit(self, change: Callable[[House], House], what: str) -> House:
        from loadlib.store.houses import edit

        return edit(self.name, change, what)

    def undo(self) -> str:
        from loadlib.store.houses import undo

        return undo(self.name)

    def add(self, house: House, appliance: Appliance) -> House:
        from loadlib.store.edits import add_appliance

        return add_appliance(house, appliance)

    def find(self, words: str) -> Sequence[str]:
        from loadlib.store.catalog import search

        return [hit.category for hit in search(words, 5).hits]

    def is_exact(self, words: str) -> bool:
        from loadlib.store.catalog import search

        found = search(words, 1)
        # Words that were left out may be the ones that matter: "moon lamp" is no LED lamp.
        return not found.left_out and any(hit.exact for hit in found.hits)

    def category(self, slug: str) -> Category | None:
        from loadlib.store.catalog import many

        if slug not in self._known:
            self._known[slug] = many([slug]).get(slug)
        return self._known[slug]

    def label(self, text: str) -> RatingLabel | None:
        from loadlib.labels import read_label

        return read_label(text) if text.strip() else None

    def check_label(self, name: str, text: str) -> None:
        check_label(name, text)

    def words(self, label: RatingLabel) -> Sequence[str]:
        from loadlib.labels import explain

        return explain(label)

    def claims(self, appliance: Appliance) -> Sequence[LoadClaim]:
        from loadlib.estimators.nameplate import claims_about

        category = self.category(appliance.category)
        return list(claims_about(appliance, category, self.house().supply))
