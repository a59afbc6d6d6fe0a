"""Makes broken inputs from sound ones: the same kind and number give the same bytes, always."""

import copy
import csv
import io
import json
import random
from typing import Any

Files = dict[str, bytes]
"""Contents by file name."""
Json = Any

NUMBERS = (
    "0", "-0", "-1", "1", "2", "255", "256", "257", "1000", "1001", "1e3", "1e6", "1e9", "1e12",
    "1e15", "1e-28", "1e-30", "1e400", "1e-400", "0.000001", "99999999999999", "+5", ".5", "1.",
    "1,5", "1_000", "0x10", "nan", "inf", "-inf", "9" * 31, "9" * 5000, "１２", "٤٥", "½",
)  # fmt: skip
TEXTS = (
    "", " ", "x", "x" * 81, "x" * 501, "x" * 2001, "x" * 20_000, "=1+1", "@x", "+x", "-x", "'",
    '"', '""', "a,b", "a;b", "a\nb", "a\tb", ";", ";;", "*", "*2", "X*0", "X*65", "X*99999999999",
    "../../up", "/etc/passwd", "C:\\x", "con", "nul.txt", ".", "..", "~", "%s{0}{{x}}", "<b>x</b>",
    "</script>", "{% raw %}", "\u200b", "\u202egnp", "\ufeff", "\u2028", "é\u0301", "קבוצה",
    "\U0001f600", "\N{MAN}\u200d\N{PERSONAL COMPUTER}", "none", "None", "yes", "true", "NULL",
    "2026-02-30", "2026-03-31", "0000-00-00", "1:full:16", "1:full:16;" * 40, "256", "1;1;1",
)  # fmt: skip
_BYTES = (b"\0", b"\xff", b"\xef\xbb\xbf", b'"', b"'", b",", b"\n", b"\r", b"\r\n", b";", b"[",
          b"]", b"{", b"}", b"=", b"\\", b"e9", b"-", b".", b"\xc3\x28", b"\xed\xa0\x80", b"#",
          b'"' * 3, b"\x1b[2J", b"\t")  # fmt: skip


def of_bytes(rng: random.Random, data: bytes) -> bytes:
    """Change a few places: cut, lose, double, move, flip or put in what has a meaning."""
    for _ in range(rng.choice((1, 1, 1, 2, 4))):
        at = rng.randrange(len(data) + 1)
        to = min(len(data), at + rng.choice((1, 1, 2, 8, 40, 400)))
        head, piece, tail = data[:at], data[at:to], data[to:]
        new = (
            b"",
            piece * rng.choice((2, 3, 50)),
            rng.choice(_BYTES) + piece,
            rng.choice(_BYTES),
            bytes(byte ^ (1 << rng.randrange(8)) for byte in piece),
            rng.choice((*NUMBERS, *TEXTS)).encode(),
        )
        data = rng.choice((head, tail + head, *(head + one + tail for one in new)))
    return data


def of_table(rng: random.Random, data: bytes, known: tuple[str, ...]) -> bytes:
    """Change cells, rows and columns of a CSV file; `known` are names that mean something."""
    rows = list(csv.reader(io.StringIO(data.decode("utf-8"), newline="")))
    for _ in range(rng.choice((1, 1, 2, 3, 6))):
        row = rng.randrange(len(rows))
        place = rng.randrange(len(rows[row])) if rows[row] else 0
        body = rng.randrange(1, len(rows)) if len(rows) > 1 else 0
        how = rng.random()
        if how < 0.62 and rows[body]:
            place = rng.randrange(len(rows[body]))
            rows[body][place] = _value(rng, rows[body][place], known)
        elif how < 0.68 and rows[row]:
            rows[row][place] = rng.choice(TEXTS)
        elif how < 0.74:
            other = rng.choice(rows)
            if rows[body] and place < len(other) and place < len(rows[body]):
                rows[body][place] = other[place]
        elif how < 0.80:
            rows.insert(rng.randrange(1, len(rows) + 1), list(rows[body]))
        elif how < 0.84 and len(rows) > 1:
            rows.pop(body)
        elif how < 0.88:
            rows += [list(rows[body]) for _ in range(rng.choice((2, 30, 600)))]
        elif how < 0.92:
            for one in rows:
                del one[place : place + 1]
        elif how < 0.95:
            for one in rows:
                one.insert(place, rng.choice(("", "x", "1")))
        else:
            rng.shuffle(rows)
        rows = rows or [[""]]
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator=rng.choice(("\n", "\n", "\r\n"))).writerows(rows)
    return out.getvalue().encode("utf-8", "surrogatepass")


def _value(rng: random.Random, now: str, known: tuple[str, ...]) -> str:
    """Give a cell another value: of no sense, of another cell, or one that may well be right."""
    how = rng.random()
    if how < 0.3:
        return rng.choice(NUMBERS)
    if how < 0.45:
        return rng.choice(TEXTS)
    if how < 0.6:
        return rng.choice(known)
    if how < 0.66:
        return ";".join(rng.choices(known, k=rng.choice((2, 3, 40))))
    if how < 0.72:
        return f"{rng.choice(known)}*{rng.choice((1, 2, 64, 9999))}"
    if how < 0.9:
        return str(rng.choice((1, 2, 3, 4, 6, 8, 12, 24, 48, 256, 1000)))
    return now * rng.choice((2, 20))


def of_json(rng: random.Random, data: bytes) -> bytes:
    """Change values, keys and the depth of a JSON document."""
    tree: Json = copy.deepcopy(json.loads(data))
    for _ in range(rng.choice((1, 1, 2, 4))):
        tree = _changed(rng, tree, depth=0)
    return json.dumps(tree, ensure_ascii=rng.random() < 0.5).encode("utf-8", "surrogatepass")


def _changed(rng: random.Random, node: Json, depth: int) -> Json:
    inner = list(node) if isinstance(node, dict) else range(len(node)) if node and isinstance(
        node, list) else []  # fmt: skip
    if not inner or (depth and rng.random() < 0.12):
        return _leaf(rng, node)
    key = rng.choice(list(inner))
    how = rng.random()
    if how < 0.06:
        del node[key]
    elif how < 0.1 and isinstance(node, list):
        node += node[:1] * rng.choice((1, 3, 200))
    elif how < 0.12 and isinstance(node, dict):
        node[rng.choice(TEXTS)] = node[key]
    else:
        node[key] = _changed(rng, node[key], depth + 1)
    return node


def _leaf(rng: random.Random, node: Json) -> Json:
    deep: Json = node
    if rng.random() < 0.05:
        for _ in range(rng.choice((5, 300))):
            deep = [deep]
        return deep
    number = rng.choice(NUMBERS)
    return rng.choice(
        (None, True, False, 0, -1, 1, 10**20, 1e308, 0.1, [], {}, [[]], {"": ""}, number, number,
         rng.choice(TEXTS), rng.choice(TEXTS), [node], {"x": node}, "\ud800", float("nan"))
    )  # fmt: skip
