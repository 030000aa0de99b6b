"""What a reader could not tell and a person can: a question with the option that answers it."""

from __future__ import annotations

from loadlib.errors import DataError, InputError

__all__ = ["AmbiguousOrder", "Unsure", "data_error"]


class AmbiguousOrder(InputError):
    """Dates such as 03/04 that may be day first or month first."""


class Unsure(DataError):
    """A file that can be read once one thing is stated.

    ``option`` names the field of ``ReadOptions`` that states it, ``choices`` the answers that
    are possible, none where any text may be.
    """

    def __init__(
        self,
        message: str,
        *,
        option: str,
        choices: tuple[str, ...] = (),
        path: str | None = None,
        hint: str | None = None,
    ) -> None:
        super().__init__(message, path=path, hint=hint)
        self.option = option
        self.choices = choices


def data_error(wrong: InputError, path: str, line: int | None = None) -> DataError:
    """What was wrong with a text, as an error of the file that it stood in."""
    if isinstance(wrong, AmbiguousOrder):
        return Unsure(
            wrong.message,
            option="day_first",
            choices=("day", "month"),
            path=path,
            hint=wrong.hint,
        )
    return DataError(wrong.message, path=path, line=line, hint=wrong.hint)
