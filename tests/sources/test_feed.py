"""News feeds: RSS and Atom, their mark-up made plain, and feeds that mean harm."""

import time
from contextlib import suppress
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.sources.world_bench import PAYLOADS, context

from wallbill.errors import SourceError
from wallbill.facts.headlines import Headlines
from wallbill.sources.feed import parse
from wallbill.sources.plain_text import from_html, from_title, one_line


def read(data: bytes | str, **options: object) -> Headlines:
    body = data.encode() if isinstance(data, str) else data
    return parse(body, context("feed", options=options))


def rss(*items: str, head: str = "<title>Notices</title>") -> str:
    return f'<rss version="2.0"><channel>{head}{"".join(f"<item>{item}</item>" for item in items)}</channel></rss>'


def test_rss() -> None:
    found = read((PAYLOADS / "feed.rss").read_bytes())
    assert found.name == "Fennel Quay notices"
    first, second = found.headlines
    assert first.title == "Harbour bridge closed & ferry runs <late>"
    assert first.summary == "The bridge is shut until noon."
    assert first.published == datetime(2026, 3, 14, 4, 30, tzinfo=UTC)
    assert (first.link, first.id) == ("https://news.fennel-quay.invalid/1", "n-1")
    assert second.published == datetime(2026, 3, 13, 16, 0, tzinfo=UTC)
    assert found.origin.findings == ()


def test_atom() -> None:
    found = read((PAYLOADS / "feed.atom").read_bytes())
    assert found.updated == datetime(2026, 3, 14, 5, 31, tzinfo=UTC)
    (entry,) = found.headlines
    assert (entry.title, entry.summary) == ("Water & wind", "High water at 14:20.")
    assert entry.published == datetime(2026, 3, 13, 20, 0, tzinfo=UTC)
    assert found.origin.issued_at is None  # a quiet feed is not a stale one


def test_the_minimal_feed_of_the_atom_standard() -> None:
    # RFC 4287, section 1.1, a brief, single-entry feed document (from memory).
    found = read(
        """<?xml version="1.0" encoding="utf-8"?>
<feed xmlns="http://www.w3.org/2005/Atom"><title>Example Feed</title><link href="http://example.org/"/>
<updated>2003-12-13T18:30:02Z</updated><author><name>John Doe</name></author>
<id>urn:uuid:60a76c80-d399-11d9-b93C-0003939e0af6</id>
<entry><title>Atom-Powered Robots Run Amok</title><link href="http://example.org/2003/12/13/atom03"/>
<id>urn:uuid:1225c695-cfb8-4ebb-aaaa-80da344efa6a</id><updated>2003-12-13T18:30:02Z</updated>
<summary>Some text.</summary></entry></feed>"""
    )
    (entry,) = found.headlines
    assert entry.title == "Atom-Powered Robots Run Amok"
    assert entry.published == found.updated == datetime(2003, 12, 13, 18, 30, 2, tzinfo=UTC)
    assert entry.id == "urn:uuid:1225c695-cfb8-4ebb-aaaa-80da344efa6a"


@pytest.mark.parametrize(
    ("told", "instant"),
    [
        # RFC 4287, section 3.3 (dates of RFC 3339) and RSS 2.0 (dates of RFC 822); values from memory.
        ("2003-12-13T18:30:02.25+01:00", datetime(2003, 12, 13, 17, 30, 2, tzinfo=UTC)),
        ("2003-12-13T18:30:02+01:00", datetime(2003, 12, 13, 17, 30, 2, tzinfo=UTC)),
        ("Sat, 07 Sep 2002 00:00:01 GMT", datetime(2002, 9, 7, 0, 0, 1, tzinfo=UTC)),
        ("Sat, 07 Sep 2002 00:00:01 -0500", datetime(2002, 9, 7, 5, 0, 1, tzinfo=UTC)),
        ("7 Sep 02 00:00:01 EST", datetime(2002, 9, 7, 5, 0, 1, tzinfo=UTC)),
        ("soon", None),
        ("", None),
        ("Sat, 99 Sep 2002", None),
    ],
)
def test_dates(told: str, instant: datetime | None) -> None:
    (entry,) = read(rss(f"<title>It</title><pubDate>{told}</pubDate>")).headlines
    assert entry.published == instant


def test_newest_first_each_once_and_no_more_than_asked() -> None:
    items = [
        "<title>undated</title><guid>u</guid>",
        "<title>old</title><guid>a</guid><pubDate>Sat, 07 Mar 2026 08:00:00 GMT</pubDate>",
        "<title>new</title><guid>b</guid><pubDate>Sat, 14 Mar 2026 08:00:00 GMT</pubDate>",
        "<title>new again</title><guid>b</guid><pubDate>Sat, 14 Mar 2026 08:00:00 GMT</pubDate>",
        "<title></title>",
    ]
    found = read(rss(*items))
    assert [h.title for h in found.headlines] == ["new", "old", "undated"]
    assert [h.title for h in read(rss(*items), max=1).headlines] == ["new"]
    assert [h.title for h in found.since(datetime(2026, 3, 10, tzinfo=UTC))] == ["new"]
    assert [h.title for h in found.newest(2)] == ["new", "old"]
    assert found.newest(-1) == ()
    for bad in (0, 201, "5", True):
        with pytest.raises(SourceError, match="max is"):
            read(rss(*items), max=bad)


def test_many_entries_are_cut() -> None:
    found = read(rss(*(f"<title>n {n}</title><guid>{n}</guid>" for n in range(5000))), max=200)
    assert len(found.headlines) == 200


@pytest.mark.parametrize(
    ("html", "words"),
    [
        ("<p>The <b>bridge</b> is shut.</p><p>Until noon.</p>", "The bridge is shut. Until noon."),
        ("fish &amp; chips &#8217; &eacute; &nbsp; x", "fish & chips ’ é \xa0 x"),
        ("<script>alert('x')</script>a<style>p{}</style>b", "ab"),
        ("<svg><title>t</title></svg>y", "y"),
        ("one<br>two<br/>three", "one two three"),
        ("a  \n\t b", "a b"),
        ("e\u0301", "é"),
        ("a\u202eb\u200bc", "abc"),
        ("3 < 4 and 5 > 4", "3 < 4 and 5 > 4"),
        ("<img src=x onerror=y>z<a href='u'>k</a>", "zk"),
        ("&lt;b&gt;kept&lt;/b&gt;", "<b>kept</b>"),
        ("a <![CDXATA[b]]> c", "a <![CDXATA[b]]> c"),
        ("<![if x]>d", "<![if x]>d"),
    ],
)
def test_markup_is_made_plain(html: str, words: str) -> None:
    assert from_html(html, 100) == words


def test_titles_that_call_themselves_plain() -> None:
    assert from_title("Runs <late> &amp; <b>slow</b>", 99) == "Runs <late> & slow"
    assert from_title("It&#8217;s", 99) == "It’s"


def test_long_texts_end_at_a_word() -> None:
    assert one_line("the boat leaves at ten", 16) == "the boat leaves…"
    assert one_line("x" * 40, 10) == "x" * 9 + "…"
    assert one_line("short", 5) == "short"
    long = read(rss(f"<title>{'word ' * 500}</title><description>{'more ' * 9000}</description>")).headlines[
        0
    ]
    assert len(long.title) <= 300
    assert len(long.summary) <= 1000


@given(st.text(max_size=300), st.integers(5, 50))
def test_a_line_is_one_line_and_no_longer_than_asked(text: str, most: int) -> None:
    for make in (one_line, from_html, from_title):
        line = make(text, most)
        assert len(line) <= most
        assert "\n" not in line
        assert line == line.strip()


def test_only_addresses_of_the_web_are_links() -> None:
    items = [f"<title>t{n}</title><guid>{n}</guid><link>{link}</link>" for n, link in enumerate(
        ("https://a.invalid/x", "javascript:alert(1)", "file:///etc/passwd", "/relative", "http://[broken")
    )]  # fmt: skip
    assert [h.link for h in read(rss(*items)).headlines] == ["https://a.invalid/x", "", "", "", ""]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "iso-8859-1", "windows-1252", "utf-8-sig"])
def test_any_common_coding_is_read(encoding: str) -> None:
    named = encoding.removesuffix("-sig")
    text = f'<?xml version="1.0" encoding="{named}"?>' + rss("<title>Fähre fällt aus</title>")
    assert read(text.encode(encoding)).headlines[0].title == "Fähre fällt aus"


def test_a_broken_feed_is_read_as_far_as_it_goes() -> None:
    found = read(
        rss("<title>A &nbsp; B &unknown; & C</title><dc:date>2026-03-14T05:00:00Z</dc:date>", "<title>D")
    )
    assert [h.title for h in found.headlines] == ["A \xa0 B &unknown; & C", "D"]
    assert found.headlines[0].published == datetime(2026, 3, 14, 5, 0, tzinfo=UTC)
    (finding,) = found.origin.findings
    assert (finding.rule, finding.weight.value, finding.where.line) == ("sources.feed-broken", "note", 1)


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"", "empty"),
        (b"   \n", "empty"),
        (b"<!DOCTYPE html><html><body>Log in</body></html>", "web page"),
        (b"<html><head/></html>", "web page"),
        (b'{"version": "https://jsonfeed.org"}', "no feed"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no feed"),
        (b"<rss version='2.0'><channel><ti", "broken before its first entry"),
        (b"BEGIN:VCALENDAR", "no feed"),
        (b"\0" * 100, "empty"),
    ],
)
def test_what_is_no_feed_is_refused(data: bytes, what: str) -> None:
    with pytest.raises(SourceError, match=what) as caught:
        read(data)
    assert caught.value.mend


BOMB = (
    '<?xml version="1.0"?><!DOCTYPE rss [<!ENTITY a0 "aaaaaaaaaa">'
    + "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10))
    + ']><rss version="2.0"><channel><title>&a9;</title><item><title>x</title></item></channel></rss>'
)
HEAD = b"<rss version='2.0'><channel>"


@pytest.mark.parametrize(
    "data",
    [BOMB.encode(), BOMB.encode("utf-16"), BOMB.replace("?>", " encoding='utf-7'?>", 1).encode("utf-7")],
)
def test_entities_are_refused_unread(data: bytes) -> None:
    began = time.monotonic()
    with pytest.raises(SourceError, match="declares entities"):
        read(data)
    assert time.monotonic() - began < 0.5


@pytest.mark.parametrize(
    "data",
    [
        HEAD + b"<a>" * 1_300_000,
        HEAD + b"<item><title>&bad; x" + b"<a>" * 1_300_000,
        HEAD + b"<item><description>" + b"<" * 4_000_000,
        HEAD + b"<item><description>" + b"&" * 4_000_000,
        HEAD + b"<item><title>x</title></item>" + b"<q:a>b</q:a>" * 340_000 + b"</channel></rss>",
        HEAD + b"<item>" * 690_000,
        b"<rss version='2.0' " + b"".join(b"a%d='1' " % n for n in range(250_000)) + b"/>",
        HEAD + b"<!" * 2_000_000,
        HEAD + b"<![CDATA[" * 460_000,
        HEAD + (b"<item><title>x</title><description><![CDATA[" + b"<p>word</p> " * 1600 + b"]]></description></item>") * 200,
    ],
    ids=range(10),
)  # fmt: skip
def test_four_hostile_megabytes_take_seconds_at_most(data: bytes) -> None:
    began = time.monotonic()
    with suppress(SourceError):
        read(data)
    # Each takes from 0.01 s to 3.5 s here; feedparser by itself takes up to a minute over some of them.
    assert time.monotonic() - began < 15


def test_a_feed_beyond_all_measure_is_refused_at_once() -> None:
    with pytest.raises(SourceError, match="larger than 4 MiB"):
        read(b"<rss>" + b" " * (4 << 20))


@given(st.binary(max_size=200))
def test_no_bytes_raise_anything_else(data: bytes) -> None:
    for body in (data, HEAD + b"<item><title>" + data + b"</title></item></channel></rss>"):
        with suppress(SourceError):
            read(body)
