"""The letters of a text file: the encoding that is stated, marked, or guessed with a note."""

SAMPLE_BYTES = 256_000
WESTERN, CENTRAL = "cp1252", "cp1250"
# Small letters that are usual in the languages of each page and mean something else in the other one.
USUAL = {CENTRAL: "ěščřžůťďňąęłńśźćőűľŕĺăş", WESTERN: "àèìòùâêîôûëïåæøñãõœ"}
MARKS = {b"\xef\xbb\xbf": "utf-8-sig", b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}


def decode(data: bytes, encoding: str = "") -> tuple[bytes, tuple[str, ...]]:
    """The file as UTF-8 without mark, line ends as `\\n`, and notes on how its encoding was found.

    `encoding`: where a mapping states it; else a mark at the start, UTF-8 where the bytes are, or a guess.
    """
    mark = next((m for m in MARKS if data.startswith(m)), b"")
    text: str | None
    notes: tuple[str, ...] = ()
    if encoding:
        text = data.decode(encoding, "replace").removeprefix("\ufeff")
    elif mark:
        text = data.decode(MARKS[mark], "replace")
    else:
        text, notes = _guess(data)
    if text is not None:
        data = text.encode("utf-8", "replace")
    if b"\r" in data:
        data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    return data, notes


def _guess(data: bytes) -> tuple[str | None, tuple[str, ...]]:
    """None where the bytes are UTF-8 already."""
    if data.isascii():  # ten times faster than decoding, and takes no memory
        return None, ()
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        pass
    else:
        return None, ()
    loose = data.decode("utf-8", "replace")
    sound = sum(1 for c in data.decode("utf-8", "ignore") if ord(c) > 127)
    if sound > loose.count("\ufffd"):  # UTF-8 with a few foreign bytes: only the cells that hold them suffer
        return loose, ("most of the file is UTF-8, some bytes are not: those cells are asked about",)
    import charset_normalizer  # 0.01 s of start-up that only files in older encodings need

    best = charset_normalizer.from_bytes(data[:SAMPLE_BYTES]).best()
    page = best.encoding if best is not None else WESTERN
    if page in ("ascii", "latin_1", CENTRAL, WESTERN):
        page = _european(data[:SAMPLE_BYTES])
    return data.decode(page, "replace"), (_guessed(page),)


def _guessed(page: str) -> str:
    return f"the encoding is not stated; read as {page}: look at the accents, or state it in the mapping"


def _european(data: bytes) -> str:
    """The Western or the Central European page: the one in which more of the bytes are usual small letters."""
    return max((WESTERN, CENTRAL), key=lambda page: sum(data.decode(page, "replace").count(c) for c in USUAL[page]))
