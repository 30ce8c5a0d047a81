"""Prints the figures of the post for every folio of a folder: python tests/bench/draft.py FOLDER [--detail]."""

import sys
from dataclasses import fields
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))
from draft_figures import figures


def main() -> None:
    """Print one line a figure and folio."""
    detail = "--detail" in sys.argv
    for folder in sorted(path.parent for path in Path(sys.argv[1]).rglob("post.trace.json")):
        found = figures(folder)
        for field in fields(found):
            value = getattr(found, field.name)
            print(f"{folder.name:20} {field.name:16} {len(value) if isinstance(value, list) else round(value, 3)}")
            if detail and isinstance(value, list):
                for one in value:
                    print("        ", one)


if __name__ == "__main__":
    main()
