"""A headless browser without any network."""

import html
import re
import shutil
import subprocess
from html.parser import HTMLParser

import pytest
from pypdf import PdfReader

CHROMIUM = shutil.which("chromium")
SIZES = {"A4": (210.0, 297.0), "letter": (215.9, 279.4)}


class Browser:
    """Opens pages on screen and prints them."""

    def __init__(self, folder):
        self._folder = folder

    def pdf(self, page, paper):
        """Print a page on a paper; return the text of each sheet."""
        file, printed = self._folder / "page.html", self._folder / "page.pdf"
        sized = re.sub(r"@page \{", f"@page {{ size: {paper};", page)
        assert sized != page
        file.write_text(sized, encoding="utf-8")
        self._run("--no-pdf-header-footer", f"--print-to-pdf={printed}", file.as_uri())
        sheets = PdfReader(printed).pages
        millimetres = [float(side) / 72.0 * 25.4 for side in sheets[0].mediabox[2:]]
        assert millimetres == pytest.approx(SIZES[paper], abs=1.0)
        return [sheet.extract_text() for sheet in sheets]

    def overflow(self, page, widths, printed=()):
        """Return by how many pixels a page is wider than windows, on screen and with the rules for print."""
        as_printed = page.replace("@media print", "@media all")
        frames = [*((width, page) for width in widths), *((width, as_printed) for width in printed)]
        inside = "".join(
            f'<iframe style="width: {width}px; height: 900px; border: 0" srcdoc="{html.escape(text)}">'
            "</iframe>"
            for width, text in frames
        )
        script = (
            "<script>onload = () => { document.title = 'overflow ' + [...document.querySelectorAll('iframe')]"
            ".map(each => each.contentDocument.documentElement)"
            ".map(each => each.scrollWidth - each.clientWidth).join(' ') }</script>"
        )
        file = self._folder / "frames.html"
        file.write_text(f"<!DOCTYPE html><title></title>{inside}{script}", encoding="utf-8")
        dump = self._run("--dump-dom", file.as_uri())
        found = re.search(r"<title>overflow ([-0-9 ]+)</title>", dump)
        return [int(each) for each in found[1].split()]

    def _run(self, *arguments):
        command = [
            *(str(CHROMIUM), "--headless", "--no-sandbox", "--disable-gpu", "--proxy-server=127.0.0.1:9"),
            *(f"--user-data-dir={self._folder / 'profile'}", *arguments),
        ]
        return subprocess.run(command, check=True, capture_output=True, timeout=120, text=True).stdout


class _Links(HTMLParser):
    """Collects tags, and where their attributes lead."""

    def __init__(self):
        super().__init__()
        self.found, self.tags = [], set()

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        leading = {"src", "href", "xlink:href", "action", "data", "srcset", "poster", "background"}
        self.found += [value for name, value in attrs if name in leading]
        for name, value in attrs:
            if name in ("style", "clip-path", "fill", "filter", "mask"):
                self.found += re.findall(r"url\(['\"]?([^'\")]*)", value or "")


@pytest.fixture
def browser(tmp_path):
    """A browser; the test is skipped where there is none."""
    if CHROMIUM is None:
        pytest.skip("needs Chromium, which .ci/run installs")
    return Browser(tmp_path)


@pytest.fixture(scope="session")
def fetches_nothing():
    """Check that a page asks nothing of the network."""

    def check(page):
        links = _Links()
        links.feed(page)
        assert all(link.startswith(("#", "data:")) for link in links.found), links.found
        styles = "".join(re.findall(r"<style>.*?</style>", page, re.DOTALL))
        assert "@import" not in page and "url(" not in styles
        assert not {"link", "script", "iframe", "object", "embed", "base"} & links.tags

    return check
