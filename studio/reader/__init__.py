"""Who learns to read talk: marked talks as data, and the small model that is trained on them.

`marks` reads one mark, `talks` one marked talk, `forms`
gives it times as spoken, as a recogniser writes it and as old captions are.
"""
