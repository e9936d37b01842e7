"""Short safety lines that every output which could send someone onto a roof carries."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from roof3d.catalog.model import Catalog
from roof3d.errors import CatalogError
from roof3d.rules.assembly import AssemblyChoice
from roof3d.rules.limits import read_data


class When(StrEnum):
    """When a caution must be shown."""

    ALWAYS = "always"
    HEAT = "heat"


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One line, where it comes from, and when it is shown."""

    id: str
    when: When
    text: str
    source: str

    @property
    def line(self) -> str:
        """The text with its source in brackets, for a picture's foot."""
        return f"{self.text} ({self.source})" if self.source else self.text


@cache
def load_cautions() -> tuple[Caution, ...]:
    """Load the cautions that come with the program, in the order to show them.

    Raises
    ------
    CatalogError
        Where the data file is missing or wrong.
    """
    try:
        return tuple(
            Caution(id=row["id"], when=When(row["when"]), text=row["text"], source=row["source"])
            for row in read_data("cautions.toml")["caution"]
        )
    except (KeyError, ValueError, TypeError) as error:
        raise CatalogError(f"cannot be read: {error}", where="cautions.toml") from error


def cautions_for(choices: Iterable[AssemblyChoice], catalog: Catalog) -> tuple[str, ...]:
    """Return the caution lines for what lies on a roof.

    Parameters
    ----------
    choices : iterable of AssemblyChoice
        The planes in view; may be empty.
    catalog : Catalog
        Holds every assembly chosen.

    Returns
    -------
    tuple[str, ...]
        At least falls, ladder and who decides; hot tools too where any assembly in view
        is laid with heat. One line each, with its source.
    """
    heat = any(catalog.assembly(choice.assembly).uses_heat for choice in choices)
    return tuple(
        caution.line for caution in load_cautions() if heat or caution.when is not When.HEAT
    )
