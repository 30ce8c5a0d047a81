"""The person's decisions: kept apart from what the machine found, and laid over it, so that no run ever loses them.

kinds      what can be decided, each anchored to a time and the words heard
log        `edits.jsonl`: appended, checksummed; a bad line costs that line   -> Edits
chapters   decisions about chapters laid over
words      misheard words corrected
laying     all other decisions; `lay_over(stage, result, edits)`
"""

from studio.edits.kinds import EDIT, Anchor, Edit, SetAside, Undo, plain_words
from studio.edits.laying import concerning, lay_over, names_kept, over_settings
from studio.edits.log import Edits, append, line, load

VERSION = 1

__all__ = [
    "EDIT", "VERSION", "Anchor", "Edit", "Edits", "SetAside", "Undo", "append", "concerning", "lay_over", "line",
    "load", "names_kept", "over_settings", "plain_words",
]  # fmt: skip
