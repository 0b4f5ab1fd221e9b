"""Write the bundle that makes charts live, and the notices.

``python tests/bench/live_charts.py node_modules`` is run at build time, and what it writes is
committed. Making it takes a second and would leave a converter running in a server that is about to
fork, so it is never made while serving. The licences are read from a folder in which
``npm install --ignore-scripts vega@… vega-lite@… vega-embed@…``, with the versions of
``live-charts.json``, has put the packages of the bundle.
"""

from __future__ import annotations

import hashlib
import json
import re
import sys
from collections.abc import Iterator
from pathlib import Path

import vl_convert

ROOT = Path(__file__).parents[2]
STATIC = ROOT / "web" / "static"
BUNDLE = STATIC / "live-charts.js"
RECORD = STATIC / "live-charts.json"
NOTICES = STATIC / "notices.json"
FONTS = ROOT / "web" / "proposal" / "fonts"
DOCS = ROOT / "api" / "static" / "docs"
ROOTS = ("vega", "vega-lite", "vega-embed")
# What only the command-line tools of these packages need, and types: not in the bundle.
NOT_BUNDLED = {"yargs", "commander", "iconv-lite", "rw", "vega-typings"}

Notice = dict[str, str]


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
        "licences": NOTICES.name,
    }


def notices(modules: Path) -> list[Notice]:
    """Return name, licence, source and licence text of all that is bundled.

    Parameters
    ----------
    modules : Path
        The folder ``node_modules`` with the packages of the bundle.
    """
    found = [_of_package(modules / name) for name in sorted(packages(modules))]
    return [*found, *_others()]


def packages(modules: Path) -> set[str]:
    """Return the packages that the bundle holds: what its roots depend on, however far."""
    left, seen = list(ROOTS), set[str]()
    while left:
        name = left.pop()
        if name in seen | NOT_BUNDLED or name.startswith("@types/"):
            continue
        seen.add(name)
        left.extend(_described(modules / name).get("dependencies", {}))
    return seen


def _described(package: Path) -> dict[str, dict[str, str]]:
    described: dict[str, dict[str, str]] = json.loads((package / "package.json").read_text("utf-8"))
    return described


def _of_package(package: Path) -> Notice:
    described = _described(package)
    text = next(file for file in sorted(package.iterdir()) if "licen" in file.name.lower())
    return _notice(
        str(described["name"]),
        str(described["license"]),
        _address(described["repository"]),
        "live charts of the page",
        text.read_text("utf-8"),
    )


def _address(repository: str | dict[str, str]) -> str:
    """Return where a package's source is, as an address.

    Examples
    --------
    >>> _address({"url": "git+https://github.com/vega/vega.git"}), _address("lydell/pretty")
    ('https://github.com/vega/vega', 'https://github.com/lydell/pretty')
    """
    text = repository if isinstance(repository, str) else repository["url"]
    path = re.sub(r"^.*github\.com/|\.git$", "", text)
    return f"https://github.com/{path}"


def _others() -> Iterator[Notice]:
    """Yield what is bundled beside the charts: fonts, and the reader of the API's document."""
    yield _notice(
        "Source Sans 3 (Regular, Semibold)", "OFL-1.1", "https://github.com/adobe-fonts/source-sans",
        "font of the proposal", (FONTS / "LICENSE.md").read_text("utf-8"),
    )  # fmt: skip
    yield _notice(
        "swagger-ui", "Apache-2.0", "https://github.com/swagger-api/swagger-ui",
        "page that shows the API's document", (DOCS / "swagger-ui.LICENSE.txt").read_text("utf-8"),
    )  # fmt: skip
    yield _notice(
        "modules inside swagger-ui", "MIT and others", "https://github.com/swagger-api/swagger-ui",
        "page that shows the API's document",
        (DOCS / "swagger-ui-bundle.js.LICENSE.txt").read_text("utf-8"),
    )  # fmt: skip


def _notice(name: str, licence: str, source: str, used: str, text: str) -> Notice:
    return {"name": name, "licence": licence, "source": source, "used": used, "text": text.strip()}


def main() -> None:
    """Make the bundle, the record of it and the notices."""
    # The stub forgets that the snippet is optional; without one the whole library is packed.
    content = vl_convert.javascript_bundle().encode()  # type: ignore[call-arg]
    BUNDLE.write_bytes(content)
    RECORD.write_text(json.dumps(record(content), indent=2) + "\n", encoding="utf-8")
    text = json.dumps(notices(Path(sys.argv[1])), indent=1, ensure_ascii=False)
    NOTICES.write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
