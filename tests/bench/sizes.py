"""What a first visit brings to the device: everything that is needed offline."""

from __future__ import annotations

import gzip
import json
import re
from pathlib import Path


def kept(dist: Path) -> dict[str, list[str]]:
    """The files that the service worker keeps, by group, as ways from the site's root."""
    text = (dist / "service-worker.js").read_text(encoding="utf-8")
    found = re.search(r"^const SITE = (\{.*?^\});$", text, re.DOTALL | re.MULTILINE)
    if not found:
        raise ValueError("service-worker.js does not begin with its list of files.")
    site = json.loads(found[1])
    return {group: sorted(site[group]["files"]) for group in ("runtime", "app")}


def compressed(dist: Path) -> dict[str, int]:
    """Bytes by group, each file compressed by itself with gzip -9, as a static host may send it;
    "worker" is the service worker's own file."""
    groups = {**kept(dist), "worker": ["service-worker.js"]}
    return {
        group: sum(len(gzip.compress((dist / way).read_bytes(), 9)) for way in ways)
        for group, ways in groups.items()
    }
