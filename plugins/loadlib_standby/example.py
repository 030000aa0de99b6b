"""Example source and case files, to start one's own from. Generic and invented, no makes."""

from __future__ import annotations

from pathlib import Path

from loadlib_standby.engine import InputError, NotFound, seed_root

__all__ = ["example_names", "example_text", "write_example"]


def example_names() -> dict[str, str]:
    """Names of the examples, each with the first line of the file as its summary."""
    files = sorted((seed_root() / "examples").glob("*.toml"))
    return {
        path.stem.replace("_", "-"): _first_line(path)
        for path in files
        if path.stem.startswith(("source_", "case_"))
    }


def example_text(name: str) -> str:
    """Text of an example; NotFound lists the names."""
    key = name.strip().casefold().replace("_", "-").removesuffix(".toml")
    names = example_names()
    if key not in names:
        raise NotFound("example", name, near=tuple(names), hint="One of: " + ", ".join(names) + ".")
    path = seed_root() / "examples" / f"{key.replace('-', '_')}.toml"
    return path.read_text(encoding="utf-8")


def write_example(name: str, path: Path) -> None:
    """Write an example to a new file; InputError if something is there or it cannot be."""
    text = example_text(name)
    try:
        with path.open("x", encoding="utf-8") as handle:
            handle.write(text)
    except FileExistsError:
        raise InputError(f"{path} is there already", hint="Give another name.") from None
    except OSError as error:
        raise InputError(f"{path} can't be written: {error.strerror}") from None


def _first_line(path: Path) -> str:
    return path.read_text(encoding="utf-8").split("\n", 1)[0].lstrip("# ")
