"""``python -m web`` is ``roof-lcc``."""

from web.cli import main

main(prog_name="roof-lcc")
