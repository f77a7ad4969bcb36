"""Text files as people send them: with or without a byte-order mark, sometimes not text at all."""

from pathlib import Path

from tunnelwright.vocabulary.remark import Fault, InputRefused

LARGEST_BYTES = 50_000_000


def read_text(path: Path, where: str) -> str:
    """Return the text of a UTF-8 file.

    Raises
    ------
    InputRefused
        when the file is empty, no text, in another encoding or too large; the Fault names the line.
    """
    content = _content(path, where)
    if b"\x00" in content[:4096]:
        raise _refused(where, f"{len(content)} bytes that are no text", "a text file is needed", "is it a spreadsheet with the wrong ending?")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as reason:
        line = content[: reason.start].count(b"\n") + 1
        raise _refused(f"{where}:{line}", f"byte 0x{content[reason.start]:02x}", "UTF-8 text is needed", "save the file with the encoding UTF-8") from None
    if not text.strip():
        raise _refused(where, "an empty file", "content is needed", "fill it or delete it")
    return text


def _content(path: Path, where: str) -> bytes:
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise _refused(
                where,
                f"{path.stat().st_size / 1e6:.0f} MB",
                f"a project file is smaller than {LARGEST_BYTES / 1e6:.0f} MB",
                "is it a log? logs belong into logs/",
            )
        return path.read_bytes()
    except OSError as reason:
        raise _refused(where, "a file that cannot be read", (reason.strerror or "it must be readable").lower()) from None


def _refused(where: str, given: str, required: str, hint: str = "") -> InputRefused:
    return InputRefused([Fault(where=where, field="file", given=given, required=required, hint=hint)])
