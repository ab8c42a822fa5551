"""The page as PDF, through WeasyPrint where it is installed; same page, same bytes."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

from riskcheck.errors import UsageError
from riskcheck.sheets import replace_file

HOW_TO_GET = (
    "--pdf needs WeasyPrint: pip install 'riskcheck[pdf]' (on Debian also: apt-get install "
    "libpango-1.0-0 libpangoft2-1.0-0). Or write the page with --html and print it from a browser."
)


def write(target: Path, html: str) -> Path:
    """Render ``html`` (made with ``paper=True``) to ``target``; returns the path written.

    Raises UsageError that says how to get WeasyPrint where it or its libraries are missing.
    """
    return replace_file(target, rendered(html))


def rendered(html: str) -> bytes:
    """The PDF; nothing is fetched: an address in the page is refused."""
    try:
        import weasyprint  # type: ignore[import-untyped,unused-ignore]
    except (ImportError, OSError) as missing:
        raise UsageError(HOW_TO_GET) from missing
    identifier = hashlib.sha256(html.encode()).hexdigest()[:32].encode()
    before = os.environ.get("SOURCE_DATE_EPOCH")
    os.environ["SOURCE_DATE_EPOCH"] = before or "0"
    try:
        page = weasyprint.HTML(string=html, url_fetcher=_refuse)
        pdf: bytes = page.write_pdf(pdf_identifier=identifier)
    finally:
        if before is None:
            del os.environ["SOURCE_DATE_EPOCH"]
    return pdf


def _refuse(address: str, *_: object, **__: object) -> dict[str, object]:
    raise ValueError(f"a page may not fetch anything, and asked for {address[:80]}")
