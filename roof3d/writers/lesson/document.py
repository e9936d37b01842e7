"""The lesson as data for other programs."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any, Final

from roof3d.lesson.model import Lesson

SCHEMA: Final = "roof3d.lesson/1"


def lesson_document(lesson: Lesson) -> dict[str, Any]:
    """Return a lesson as a JSON document of schema ``roof3d.lesson/1``.

    Parameters
    ----------
    lesson : Lesson

    Returns
    -------
    dict
        ``schema``; then the fields of ``Lesson`` by their names:

        - ``title``, ``model``, ``place``, ``summary``, ``detail`` (id of the place), ``kind``,
          ``audience``: text.
        - ``gear``, ``cautions``, ``tools``, ``notes``: lists of text.
        - ``steps``: ``number``, ``layer``, ``name``, ``material`` (id in the catalog), ``what``,
          ``parts`` (``name``, ``count``), ``order``, ``over`` (numbers of steps), ``why``,
          ``size``, ``fastening``, ``tool``, ``gear``, ``mistake``, ``check``; ``measures``,
          ``practice`` and ``day``, each a list of ``text`` and ``source``; ``held`` (how it
          is held on the day), ``stop``; ``sources``.
        - ``look``: ``text``, ``source``.
        - ``questions``: ``id``, ``asked``, ``options``, ``right`` (from 0), ``reason``,
          ``source``, ``step`` (0 for none).
        - ``day``: null, or ``celsius``, ``words``, ``name``, ``summary``, ``source``.
        - ``weather``: ``material``, ``name``, ``span``, ``words``, ``source``.
        - ``terms``: ``word``, ``meaning``.
        - ``wrong``: null, or ``name``, ``title``, ``wrong``, ``water``, ``cost``, ``see``,
          ``source``.
    """
    return {"schema": SCHEMA, **asdict(lesson)}
