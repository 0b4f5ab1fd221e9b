"""One plain sentence for each word of the trade or of finance that the page uses."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from lcc import tables


@dataclass(frozen=True)
class Term:
    """A word and what it means."""

    word: str
    meaning: str


TERMS = {each["term"]: Term(each["word"], each["meaning"]) for each in tables.words("glossary")}
TERM_OF = {each["field"]: each["term"] for each in tables.words("terms_of_fields")}
# Words that sentences of the reply use, where no entry stands to ask about them.
IN_SENTENCES = ("take-off", "curb", "diaphragm", "bond")


def words_in(texts: Iterable[str]) -> tuple[str, ...]:
    """Return the terms whose word stands in some sentences.

    Examples
    --------
    >>> words_in(["Units on curbs are bonded.", "It is recovered once."])
    ('curb',)
    """
    said = " ".join(texts).lower()
    return tuple(word for word in IN_SENTENCES if re.search(rf"\b{word}s?\b", said))
