"""The reader: a small model that tells what each word of a talk is, and which catalogue row a stretch of it means.

At work: `pieces` and `batches` show it the talk, `model` asks it, `reading` tells what it said, `sense` of sentences
and `naming` of names; `folding` and `rows` find the rows that may be meant, `about` tells of its files. Marked talks to
learn from: `marks`, `talks`, `forms`, `examples`. Learning (extra `train`): `network`, `steps`, `trainer`, `judging`,
`training`, `weighing`, `export`.
"""
