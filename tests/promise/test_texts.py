"""The texts of an offer: one catalogue, the same in every language, and nothing in vain."""

import datetime as dt
import re
from decimal import Decimal
from pathlib import Path

import pytest

from quotelib import resources
from quotelib.build.findings import CODES
from quotelib.promise.shown import Lack
from quotelib.promise.texts import Forms, languages, texts

ROOT = Path(__file__).resolve().parents[2]
OTHERS = [language for language in languages() if language != "en"]
VARIED = {
    "finding": [code for code, severity in CODES.items() if severity != "stop"],
    "lack": list(Lack.model_fields["what"].annotation.__args__),  # type: ignore[union-attr]
    "asked": ["hdd", "ssd", "keep", "grow", "replace"],
    "offered": ["keep", "grow", "replace"],
    "months": ["months", "monthly", "last", "total", "interest"],
    "items": ["parts", "services", "once", "lines"],
    "known": ["note", "agreed", "open"],
    "figures": ["speed", "answer", "rebuild", "loss"],
    "unit": ["speed", "answer", "rebuild", "loss", "power"],
    "caution": ["data", "kept_data", "supply", "static", "lifting", "lithium"],
}
"""Keys that are put together of a table and a name."""


def blanks(words: str | Forms) -> set[str]:
    forms = [words] if isinstance(words, str) else list(words.values())
    return {name for form in forms for name in re.findall(r"\{(\w*)\}", form)}


def test_there_are_three_languages() -> None:
    assert languages() == ("de", "en", "fr")


@pytest.mark.parametrize("language", OTHERS)
def test_every_language_has_the_same_keys_and_blanks(language: str) -> None:
    own, english = texts(language).by_key, texts("en").by_key
    assert set(own) == set(english)
    for key, words in english.items():
        assert isinstance(own[key], str) == isinstance(words, str), key
        assert blanks(own[key]) == blanks(words), key
        if not isinstance(words, str):
            assert set(own[key]) == {"one", "other"}, key
        assert own[key] and not re.search(r"\{\W|\{\}", str(own[key]).replace("{'", "")), key


def test_a_translation_translates() -> None:
    english = {key: words for key, words in texts("en").by_key.items() if blanks(words) == set()}
    for language in OTHERS:
        alike = {key for key, words in english.items() if texts(language).by_key[key] == words}
        # Words that are the same in both, by chance or for want of another.
        assert len(alike) < 6, alike


def test_nothing_is_there_in_vain_and_nothing_is_missing() -> None:
    files = [*(ROOT / "quotelib/promise").glob("offer*.py"), ROOT / "quotelib/promise/texts.py"]
    files += (ROOT / "templates/sections").glob("offer_*.j2")
    source = "\n".join(path.read_text("utf-8") for path in files)
    keys = set(texts("en").by_key)
    used = {key for key in re.findall(r"[\"']([a-z]+\.[a-z_]+)[\"']", source) if key in keys}
    used |= {f"{table}.{name}" for table, names in VARIED.items() for name in names}
    assert keys - used == set()
    assert used - keys == set()
    asked = set(re.findall(r"\bt\(\s*[\"']([a-z_]+\.[a-z_]+)[\"']", source))
    assert asked - keys == set()


def test_figures_dates_and_lists() -> None:
    en, de, fr = texts("en"), texts("de"), texts("fr")
    day, amount = dt.date(2026, 3, 5), Decimal("-1234.50")
    assert [t.date(day) for t in (en, de, fr)] == ["5 March 2026", "5. März 2026", "5 mars 2026"]
    assert en.amount(amount) == "−1,234.50" and de.amount(amount) == "−1.234,50"
    assert fr.amount(amount) == "−1\u202f234,50"
    assert en.money(Decimal("1234"), "JPY") == "JPY 1,234"
    assert de.money(Decimal("0.500"), "KWD") == "0,500 KWD"
    assert [t.listed("abc") for t in (en, de, fr)] == ["a, b and c", "a, b und c", "a, b et c"]
    assert en.tb(3_999_999_999_999) == "3.99" and de.tb(4 * 10**12) == "4,00"
    assert (en.figure(46_400.4), de.figure(46_400.4)) == ("46,400", "46.400")
    assert (en.figure(0.0004), fr.figure(0.0123, 2)) == ("under 0.001", "0,012")
    assert en.figure(float("inf")) == "without end"
    assert en.plain(Decimal("20.0")) == "20" and de.plain(Decimal("7.70")) == "7,7"


def test_words_go_by_number_as_each_language_counts() -> None:
    for language, words in {
        "en": ["any 0 drives", "any one drive", "any 2 drives"],
        "de": ["0 beliebigen Laufwerken", "einem beliebigen Laufwerk", "2 beliebigen Laufwerken"],
        # In French nought is one of the singular.
        "fr": ["un disque quelconque", "un disque quelconque", "2 disques quelconques"],
    }.items():
        assert [texts(language)("figures.any", n) for n in range(3)] == words


def test_a_language_that_is_gone_is_english() -> None:
    assert texts("tlh").language == "en"


def test_a_file_more_is_a_language_more(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "texts").mkdir()
    for name in ("en", "cy"):
        (tmp_path / "texts" / f"{name}.toml").write_text("[language]\n")
    monkeypatch.setattr(resources, "templates", lambda: tmp_path)
    assert languages() == ("cy", "en")
