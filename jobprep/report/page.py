"""A page that is complete in itself: it loads nothing and runs nothing, and a policy says so."""

from __future__ import annotations

import base64
import hashlib
from importlib.resources import files

from jobprep.report.markup import Markup, element


def page(title: str, *body: Markup) -> str:
    """Return an HTML page in the style of ``page.css`` beside this file."""
    style = files(__package__).joinpath("page.css").read_text(encoding="utf-8")
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    policy = f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    head = element(
        "head",
        element("meta", charset="utf-8"),
        element("meta", http_equiv="Content-Security-Policy", content=policy),
        element("meta", name="viewport", content="width=device-width, initial-scale=1"),
        element("meta", name="color-scheme", content="light dark"),
        element("title", title),
        element("style", Markup(style)),
    )
    text = element("html", head, element("body", *body), lang="en")
    return f"<!DOCTYPE html>\n{text}\n"
