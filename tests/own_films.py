"""Films of a workshop's own, made from those that are shipped."""

import re

from jobprep.files.materials.library import shipped_materials


def shipped_text(name: str) -> str:
    """Return the file of a shipped film without its spectrum, which lies in a file beside it."""
    text = (shipped_materials() / "films" / f"{name}.toml").read_text("utf-8")
    return re.sub(r"(?m)^(transmission|refractive_index)[^\n]*\n", "", text)
