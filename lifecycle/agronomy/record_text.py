"""From the bytes of a file to lines of text, or one clear sentence."""

import gzip
import io
import zlib

from lifecycle.agronomy.daily_record import RecordError

_GZIP_MAGIC = b"\x1f\x8b"
_MOST_BYTES = 64 * 1024 * 1024
_KINDS = (
    "a GHCN-Daily .dly or CSV file, an NCEI daily-summaries CSV, or a CSV with the columns "
    "date,tmin_c,tmax_c"
)


def unknown_format(where: str) -> RecordError:
    """The error for text that is none of the formats; `where` opens the sentence."""
    return RecordError(f"{where} is not part of a daily record known here; give {_KINDS}.")


def text_lines(data: bytes) -> list[str]:
    """Lines of a file: gzip unpacked, byte-order mark and any kind of line end removed.

    RecordError when the file is empty, larger than 64 MB, damaged, or not UTF-8 text.
    """
    if not isinstance(data, bytes | bytearray | memoryview):
        raise TypeError("A daily record is read from bytes.")
    data = bytes(data)
    if data.startswith(_GZIP_MAGIC):
        data = _unpacked(data)
    if len(data) > _MOST_BYTES:
        raise RecordError("The file holds more than 64 MB; give one station's days only.")
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise RecordError("The file is UTF-16 text; save it again as CSV in UTF-8.")
    if b"\x00" in data:
        raise RecordError(f"The file is binary, not text; give {_KINDS}.")
    text = _decoded(data).replace("\r\n", "\n").replace("\r", "\n")
    if not text.strip():
        raise RecordError(f"The file is empty; give {_KINDS}.")
    return text.split("\n")


def _unpacked(data: bytes) -> bytes:
    try:
        with gzip.GzipFile(fileobj=io.BytesIO(data)) as packed:
            return packed.read(_MOST_BYTES + 1)
    except (OSError, EOFError, zlib.error):
        raise RecordError(
            "The gzip file is damaged or cut short; fetch it again or unpack it first."
        ) from None


def _decoded(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        if not _looks_like_text(data):
            raise RecordError(f"The file is binary, not text; give {_KINDS}.") from None
        line = data[: error.start].count(b"\n") + 1
        raise RecordError(
            f"Line {line} holds a character that is not UTF-8; save the file as CSV in UTF-8."
        ) from None


def _looks_like_text(data: bytes) -> bool:
    sample = data[:4096]
    control = sum(byte < 32 and byte not in b"\t\n\r\x0c" for byte in sample)
    return control == 0 and sum(byte < 128 for byte in sample) > 0.7 * len(sample)
