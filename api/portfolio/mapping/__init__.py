"""From an owner's own table to the columns of a portfolio, by a mapping that is corrected once."""

from api.portfolio.mapping.apply import check_titles, headed, mapped
from api.portfolio.mapping.mapping_file import TableMapping, as_document, from_document, from_text
from api.portfolio.mapping.propose import propose
from api.portfolio.mapping.report import report

__all__ = [
    "TableMapping", "as_document", "check_titles", "from_document", "from_text", "headed",
    "mapped", "propose", "report",
]  # fmt: skip
