"""Translation between nouns and files: pictures, SVG, DXF, RS-274 programs, PDF, TOML, JSON. No judgement here."""
