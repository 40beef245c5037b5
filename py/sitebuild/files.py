"""Names and archives that depend on content alone."""

from __future__ import annotations

import base64
import hashlib
import io
import zipfile
from collections.abc import Iterable
from pathlib import Path, PurePosixPath

# The earliest date that a zip can hold: archives must not carry the hour they were made.
ZIP_DATE = (1980, 1, 1, 0, 0, 0)


def sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def short_hash(*parts: bytes) -> str:
    """Twelve hex digits over all parts and their borders."""
    seen = hashlib.sha256()
    for part in parts:
        seen.update(str(len(part)).encode() + b":" + part)
    return seen.hexdigest()[:12]


def hashed_name(name: str, data: bytes) -> str:
    """style.css -> style.0123456789ab.css"""
    path = PurePosixPath(name)
    return f"{path.stem}.{short_hash(data)}{path.suffix}"


def write_zip(files: dict[str, bytes], *, compress: bool) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name in sorted(files):
            info = zipfile.ZipInfo(name, ZIP_DATE)
            info.external_attr = 0o644 << 16
            info.create_system = 3
            info.compress_type = zipfile.ZIP_DEFLATED if compress else zipfile.ZIP_STORED
            archive.writestr(info, files[name])
    return out.getvalue()


def read_zip(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {i.filename: archive.read(i) for i in archive.infolist() if not i.is_dir()}


def module_name(path: str) -> str:
    """json/__init__.py and json/__init__.pyc -> json; json/tool.py -> json.tool"""
    parts = path.rpartition(".")[0].split("/")
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def tree(folder: Path, *, without: Iterable[str] = ()) -> list[Path]:
    """Every file below a folder in a fixed order, the named folders left out."""
    skipped = set(without)
    return sorted(
        path
        for path in folder.rglob("*")
        if path.is_file() and not skipped & set(path.relative_to(folder).parts)
    )


def integrity(data: bytes) -> str:
    """The content's digest, as browsers want it."""
    return "sha256-" + base64.b64encode(hashlib.sha256(data).digest()).decode()
