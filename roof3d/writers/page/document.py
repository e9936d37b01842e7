"""Put the page together: one HTML file, no network, nothing that a name in a model could run."""

from __future__ import annotations

import base64
import gzip
import hashlib
import html
import json
from collections.abc import Mapping
from pathlib import Path
from string import Template
from typing import Any

from roof3d.errors import WriteError

_BUNDLE = Path(__file__).parent / "bundle"
_PARTS = ("viewer.js", "viewer.css", "licences.txt")

_PAGE = Template(
    """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="$policy">
<meta name="generator" content="roof3d">
<title>$title</title>
<style>$style</style>
</head>
<body data-state="loading">
<noscript>
<p>$title: this page needs JavaScript to draw the roof. It loads nothing from anywhere.</p>
</noscript>
<div id="page"></div>
<script type="text/plain" id="facts">$facts</script>
<script type="text/plain" id="meshes">$meshes</script>
<script type="text/plain" id="licences">$licences</script>
<script>$script</script>
</body>
</html>
"""
)


def page_bytes(facts: Mapping[str, Any], glb: bytes) -> bytes:
    """Write the page.

    Parameters
    ----------
    facts : Mapping
        As ``page_facts`` returns them.
    glb : bytes
        As ``page_glb`` returns them.

    Returns
    -------
    bytes
        UTF-8 with bare line feeds: the policy's digests hang on them. Equal for equal input.

    Raises
    ------
    WriteError
        Code ``R3D-NO-PAGE``, where this copy was installed without the page's scripts.
    """
    script, style, licences = (_bundled(name) for name in _PARTS)
    connect = "'self'" if facts.get("live") else "blob: data:"
    policy = (
        f"default-src 'none'; script-src '{_digest(script)}'; style-src '{_digest(style)}'; "
        f"img-src data: blob:; connect-src {connect}; base-uri 'none'; form-action 'none'"
    )
    # One pass: what is put in is never looked through again.
    page = _PAGE.substitute(
        policy=html.escape(policy, quote=False).replace('"', "&quot;"),
        title=html.escape(f"{facts['model']}: the roof"),
        style=style,
        facts=_packed(json.dumps(facts, separators=(",", ":"), allow_nan=False).encode("utf-8")),
        meshes=_packed(glb),
        licences=html.escape(licences, quote=False),
        script=script,
    )
    return page.encode("utf-8")


def _bundled(name: str) -> str:
    path = _BUNDLE / name
    if not path.is_file():
        raise WriteError(
            "this copy of roof3d was installed without the page's scripts",
            where=name,
            hint="install it again with Node 20 or newer on the path, or with the npm registry "
            "reachable and ROOF3D_PAGE not set to skip",
            code="R3D-NO-PAGE",
        )
    return path.read_text(encoding="utf-8")


def _packed(data: bytes) -> str:
    """Return gzip in base64: small, and no text in it can end its element."""
    return base64.b64encode(gzip.compress(data, 9, mtime=0)).decode("ascii")


def _digest(text: str) -> str:
    found = hashlib.sha256(text.encode("utf-8")).digest()
    return "sha256-" + base64.b64encode(found).decode("ascii")
