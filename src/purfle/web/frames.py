"""How server and hand speak: a short JSON head and a body of bytes, each after its length."""

import json
import struct
from typing import Any

LENGTHS = struct.Struct(">II")
Head = dict[str, Any]


def packed(head: Head, body: bytes = b"") -> bytes:
    """One message."""
    said = json.dumps(head, ensure_ascii=False).encode("utf-8", "surrogatepass")
    return LENGTHS.pack(len(said), len(body)) + said + body


def head_of(said: bytes) -> Head:
    """The head of a message."""
    found: Head = json.loads(said.decode("utf-8", "surrogatepass"))
    return found
