"""Texts that come with Purfle, and texts as TOML writes them."""

import json
from importlib import resources


def own_text(name: str) -> str:
    """A text that comes with Purfle."""
    return (resources.files("purfle") / "files" / name).read_text(encoding="utf-8")


def quoted(words: str) -> str:
    """Words as TOML writes them; its escapes are those of JSON."""
    return json.dumps(words, ensure_ascii=False).replace("\x7f", "\\u007f")
