"""What can be read of JSON that somebody gives us: text and what it holds, or why not."""

import json
from typing import Any


def read_json(data: bytes | str) -> Any:
    """Read JSON, of which every text can be shown, kept and sent on.

    Raises
    ------
    ValueError
        Where it is not that; says why, in words that go on from the name of a file.
    """
    try:
        text = data.decode("utf-8-sig") if isinstance(data, bytes) else data
    except UnicodeDecodeError as error:
        bad = error.object[error.start : error.start + 1].hex()
        raise ValueError(f"has a byte (0x{bad}) that is not UTF-8") from None
    try:
        found = json.loads(text)
        # An escape may name half of a character: no text, but Python takes it for some.
        json.dumps(found, ensure_ascii=False).encode("utf-8")
    except RecursionError:
        raise ValueError("is nested too deep") from None
    except UnicodeEncodeError:
        raise ValueError("has half a character in it, which is no text") from None
    except ValueError:
        raise ValueError("is not well-formed JSON") from None
    return found
