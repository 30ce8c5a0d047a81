"""bonefolder: a recording and the maker's catalogue go in, a folder that is ready to publish comes out.

Read the rooms from top to bottom; imports point upwards only.

1. `errors`, `model`, `resources`       what can go wrong; the document; the data files that come with the program
2. `settings`, `timecode`, `text`, `cache`, `swap`, `quantity`, `dates`   choices, clocks, results, quantities, days
3. `media`, `catalogue`                 the recording and the list of products, read
4. `transcript` -> `language` -> `mentions`, `measures`, `corrections`, `offers`, `chapters`, `cautions` -> `supplies`,
   `cutting`, `checks`, `stills`        one stage each: what was said becomes what is known; `edits` are laid over it
5. `writing` -> `post`, `captions`, `description`, `report`, `metadata`, ...      what is known becomes files
6. `pipeline`, `folio`                  the ordered table of stages; the folder
7. `requests`, `sending`, `archive`     what was asked for; what leaves the machine; all folders
8. `cli`, `desk`                        the commands; the page
"""

__version__ = "0.1.0"
