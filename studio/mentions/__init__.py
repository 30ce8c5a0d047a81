"""What was said to which catalogue row, and in what role.

Reading order: `words` (folding, word lists, weights), `index` (the catalogue made ready), `exact` (whole names), `hits`
(name words in a sentence), `claims` (rows that a stretch may name), `nicknames` (the person's own words), `heard` (a
sentence with its sizes and prices), `roles` (constructions that show, set aside, give away), `kinship` (families of
rows), `resolve` (the row by what is said around), `naming` (how well words name), `telling` (how each product is spoken
`linking` (the walk through the talk), `variants` (rows named without their noun), `unlisted` (names of no row),
`stage` (sentences in, mentions out), `weighing` (what rules propose beside what the reader says) and `display` (names
for the second hearing, spellings).
"""

from studio.mentions.display import names_about, spellings, unsure_spans
from studio.mentions.stage import mentions
from studio.mentions.weighing import weighed

VERSION = 11
__all__ = ["VERSION", "mentions", "names_about", "spellings", "unsure_spans", "weighed"]
