"""The commented model that a new user starts from."""

from __future__ import annotations

from pathlib import Path


def starter_model() -> str:
    """Return the text of a model file that reads without fault and explains its keys."""
    return (Path(__file__).parent / "data" / "starter.toml").read_text(encoding="utf-8")
