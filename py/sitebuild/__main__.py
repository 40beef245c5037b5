"""python -m sitebuild --out dist [--base-url URL] [--recipes FOLDER]"""

from __future__ import annotations

import argparse
import shutil
import sys
import tempfile
import time
from pathlib import Path
from urllib.parse import urlsplit

from . import assets, headers, licences, offline, pages, picture, publish, recipe_files, runtime, sbom
from .errors import BuildError


def build(out: Path, recipes: Path, base_url: str | None = None) -> list[str]:
    """Write the whole site to `out`, in place of what lay there."""
    if base_url is not None:
        parts = urlsplit(base_url)
        if parts.scheme not in ("http", "https") or not parts.netloc or parts.query or parts.fragment:
            raise BuildError(
                f"--base-url {base_url!r} is no address of a site; write it like "
                "https://example.org/kitchen/"
            )
    # Built beside and swapped in whole: a failed build leaves the last good site alone.
    # The name is this build's own, for two that run at once.
    out.parent.mkdir(parents=True, exist_ok=True)
    fresh = Path(tempfile.mkdtemp(prefix=f".{out.name}-", dir=out.parent))
    fresh.chmod(0o755)
    (fresh / "assets").mkdir()
    try:
        shelf = recipe_files.read_shelf(recipes)
        made = runtime.make(fresh)
        ways, shelf_way, build_id = assets.write(fresh, made, shelf)
        parts = licences.of_all()
        notices = licences.write(fresh, parts)
        drawn = pages.write(fresh, ways, build_id, notices, base_url)
        publish.write(fresh, shelf, drawn, base_url)
        offline.write(fresh, made, ways, shelf_way, drawn, build_id, recipe_files.withdrawn_of(recipes))
        sbom.write(fresh, parts)
        headers.write(fresh, base_url)
    except BaseException:
        shutil.rmtree(fresh, ignore_errors=True)
        raise
    old = out.with_name(f"{fresh.name}.old")
    if out.exists():
        out.rename(old)
    fresh.rename(out)
    shutil.rmtree(old, ignore_errors=True)
    return drawn


def main() -> int:
    parser = argparse.ArgumentParser(prog="sitebuild", description=__doc__)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--recipes", type=Path, default=recipe_files.FOLDER)
    parser.add_argument("--base-url")
    given = parser.parse_args()
    begun = time.monotonic()
    try:
        drawn = build(given.out.resolve(), given.recipes.resolve(), given.base_url)
        if given.recipes.resolve() == recipe_files.FOLDER.resolve():
            picture.write()
    except BuildError as error:
        print(error, file=sys.stderr)
        return 1
    size = sum(path.stat().st_size for path in given.out.rglob("*") if path.is_file())
    print(f"{given.out.name}/: {len(drawn)} pages, {size / 1e6:.1f} MB, "
          f"{time.monotonic() - begun:.1f} s")  # fmt: skip
    return 0


if __name__ == "__main__":
    sys.exit(main())
