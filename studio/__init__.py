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

import os

os.environ |= {
    "ORT_DISABLE_TELEMETRY": "1",  # else onnxruntime (voice detection) reports to its maker and keeps an id at home
    "HF_HUB_DISABLE_TELEMETRY": "1",  # the hub that a model named by its size comes from
    "HF_HUB_DISABLE_IMPLICIT_TOKEN": "1",  # and no token of the person's is sent along
    "DO_NOT_TRACK": "1",
}
"""Set before any other module of the program, and so before any library, is loaded; native code reads them once."""

__version__ = "0.1.0"
