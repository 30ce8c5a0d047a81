"""What was said to which catalogue row, and in what role.

Reading order: `words` (folding, word lists, weights), `index` (the catalogue made ready), `hits` (name words in a
sentence), `claims` (rows that a stretch may name), `heard` (a sentence with its sizes and prices), `roles` (shown,
talked of, set aside), `resolve` (the row by what is said around), `naming` (how well words name), `linking` (the walk
through the talk), `display` (names for the second hearing, spellings).
"""

from studio.mentions.display import names_about, spellings, unsure_spans
from studio.mentions.stage import mentions

VERSION = 1
__all__ = ["VERSION", "mentions", "names_about", "spellings", "unsure_spans"]
