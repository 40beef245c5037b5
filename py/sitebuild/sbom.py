"""The list of what ships, for programs that look for known faults: dist/sbom.cdx.json, in CycloneDX.

The same parts as on the page of licences. It carries no hour and no number of chance, so that the
same sources give the same file.
"""

from __future__ import annotations

import base64
import json
import re
from collections.abc import Iterable
from pathlib import Path

from cyclonedx.contrib.license.factories import LicenseFactory
from cyclonedx.model import HashAlgorithm, HashType
from cyclonedx.model.bom import Bom
from cyclonedx.model.component import Component, ComponentType
from cyclonedx.output.json import JsonV1Dot6
from packageurl import PackageURL

from . import files
from .licences import Part

NAME = "sbom.cdx.json"
_VERSION = re.compile(r"[0-9][\w.+-]*")


def write(out: Path, parts: Iterable[Part]) -> None:
    """Write the list of ``parts``, our own program first, to ``out``."""
    shipped = digests(out)
    own, *others = [component(part, shipped) for part in parts]
    bom = Bom(components=others)
    bom.metadata.component = own
    bom.register_dependency(own, others)
    told = json.loads(JsonV1Dot6(bom).output_as_string())
    del told["serialNumber"], told["metadata"]["timestamp"]
    (out / NAME).write_text(json.dumps(told, indent=1, sort_keys=True, ensure_ascii=False) + "\n", encoding="utf-8", newline="\n")


def component(part: Part, shipped: dict[str, str]) -> Component:
    """One part; ``shipped``: {name of a wheel's package: SHA-256 of the wheel as it ships}."""
    name = re.sub(r"[-_. ]+", "-", part.name).lower()
    version = part.version if _VERSION.fullmatch(part.version) else None  # else it is what holds it
    # One of which nothing is used at a start lies among the rest, and has no file of its own.
    hashes = [HashType(alg=HashAlgorithm.SHA_256, content=shipped[name])] if name in shipped else []
    if part.digest:
        hashes.append(HashType(alg=HashAlgorithm.SHA_512, content=base64.b64decode(part.digest.removeprefix("sha512-")).hex()))
    purl = PackageURL(part.kind, name=name, version=version)
    return Component(
        name=part.name, version=version, purl=purl, bom_ref=str(purl), hashes=hashes, description=None if version else part.version,
        type=ComponentType("application" if part.name == "curebatch" else "library"), licenses=[LicenseFactory().make_from_string(part.licence)] if part.licence else [],
    )


def digests(out: Path) -> dict[str, str]:
    return {re.sub(r"[-_.]+", "-", path.name.split("-")[0]).lower(): files.sha256(path.read_bytes()) for path in sorted(out.glob("assets/**/*.whl"))}
