"""What can go wrong, what the person can do about it, and the exit code each ends with.

    BonefolderError                    2  the request cannot be served
    ├── SettingsError                  2  the settings file is wrong
    ├── RetimeError                    2  the stretches to cut cannot be understood
    ├── CatalogueError                 2  the catalogue cannot be read at all
    ├── ModelMissing                   2  there is no speech model to hear with
    ├── ReaderDamaged                  2  the files of the reader are not those of this program
    ├── FolioBusy                      2  another run is at work on this folder
    ├── FolioDamaged                   2  a file of the folder does not hold what was written
    ├── FolioNewer                     2  a newer version of the program wrote the folder
    ├── StorageError                   2  the disk refused a file
    └── RecordingError                 3  the recording cannot be read
        ├── CaptionsError              3  the caption file given instead cannot be read
        └── DecoderCrashed             3  the decoder died on this file

Exit code 0 means done, 1 done with something to look at, 70 a fault of the program itself.
"""


class BonefolderError(Exception):
    """A problem told in two sentences: what is wrong, and what to do.

    Args:
        problem: one sentence that says what is wrong, without a full stop missing.
        remedy: one sentence that says what the person can do.
    """

    exit_code = 2

    def __init__(self, problem: str, remedy: str) -> None:
        super().__init__(f"{problem} {remedy}")
        self.problem = problem
        self.remedy = remedy


class SettingsError(BonefolderError):
    """The settings file is wrong."""


class RetimeError(BonefolderError):
    """The stretches to cut cannot be understood."""


class CatalogueError(BonefolderError):
    """The catalogue cannot be read at all; single bad rows are complaints instead."""


class ModelMissing(BonefolderError):
    """There is no speech model to hear with."""


class ReaderDamaged(BonefolderError):
    """The files of the reader are missing, or not those that came with the program."""

    def __init__(self, problem: str) -> None:
        super().__init__(problem, "Install the program again; in a checkout, put the folder shared/reader back.")


class FolioBusy(BonefolderError):
    """Another run is at work on this folder."""


class FolioDamaged(BonefolderError):
    """A file of the folder does not hold what was written."""


class FolioNewer(BonefolderError):
    """A newer version of the program wrote the folder, in a form that this one cannot read."""


class StorageError(BonefolderError):
    """The disk refused a file."""


def refused(error: OSError) -> StorageError:
    """Return what the system refused, in words: a full disk, a folder that may not be written, a name that is taken."""
    name = f" {str(error.filename)[:200]}" if error.filename else ""
    return StorageError(
        f"The system refused{name}: {error.strerror or type(error).__name__}.",
        "Check the name, the room on the disk and that you may write there, then run the same command again; "
        "nothing that was done is lost.",
    )


class RecordingError(BonefolderError):
    """The recording cannot be read."""

    exit_code = 3


class CaptionsError(RecordingError):
    """The caption file given instead of a recording cannot be read."""


class DecoderCrashed(RecordingError):
    """The decoder died on this file."""
