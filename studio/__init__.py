"""bonefolder: a recording and the maker's catalogue go in, a folder that is ready to publish comes out.

Read the rooms from top to bottom; imports point upwards only.

1. `errors`, `model`, `resources`       what can go wrong; the document; the data files that come with the program
2. `settings`, `timecode`, `quantity`, `cache`   choices, clocks, exact quantities, results on disk
3. `media`, `catalogue`                 the recording and the list of products, read
4. `transcript` -> `language` -> `mentions`, `measures`, `offers`, `chapters` -> `supplies`, `cutting`, `checks`,
   `cautions`, `edits`                  one stage each: what was said becomes what is known
5. `captions`, `post`, `metadata`, ...  what is known becomes files
6. `pipeline`, `folio`                  the ordered table of stages; the folder
7. `archive`                            all folders
8. `cli`, `desk`                        the commands; the page
"""

__version__ = "0.1.0"
