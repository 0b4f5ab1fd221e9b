"""Write the bundle that makes charts live into ``web/static``: ``python -m web.vendor``.

Run at build time and committed. Making it takes a second and would leave a converter running in
a server that is about to fork, so it is never made while serving.
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import vl_convert

STATIC = Path(__file__).parent / "static"
BUNDLE = STATIC / "live-charts.js"
RECORD = STATIC / "live-charts.json"


def digest(content: bytes) -> str:
    """Return the SHA-256 of a file's bytes.

    Examples
    --------
    >>> digest(b"")[:8]
    'e3b0c442'
    """
    return hashlib.sha256(content).hexdigest()


def record(content: bytes) -> dict[str, str]:
    """Return what is written beside the bundle: its digest and the versions in it."""
    return {
        "file": BUNDLE.name,
        "sha256": digest(content),
        "vega": vl_convert.get_vega_version(),
        "vega-lite": max(vl_convert.get_vegalite_versions()),
        "vega-embed": vl_convert.get_vega_embed_version(),
        "made_by": "vl_convert.javascript_bundle()",
        "licence": "BSD-3-Clause, University of Washington Interactive Data Lab",
    }


def main() -> None:
    """Make the bundle and the record of it."""
    # The stub forgets that the snippet is optional; without one the whole library is packed.
    content = vl_convert.javascript_bundle().encode()  # type: ignore[call-arg]
    BUNDLE.write_bytes(content)
    RECORD.write_text(json.dumps(record(content), indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
