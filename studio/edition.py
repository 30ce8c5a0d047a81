"""What every writer is given: the document, the catalogue, the person's choices, and the draft, which is made once."""

from dataclasses import dataclass, replace
from functools import cached_property

from studio.model import Catalogue, Document
from studio.settings import Settings
from studio.settled import settled
from studio.writing import draft, outline
from studio.writing.facts import Facts
from studio.writing.written import Draft


@dataclass(frozen=True)
class Edition:
    """One document on its way into files."""

    document: Document
    catalogue: Catalogue
    settings: Settings
    draft: Draft

    @classmethod
    def of(cls, document: Document, catalogue: Catalogue, settings: Settings) -> "Edition":
        """Return the edition of a document with the draft that the rules write."""
        return cls(document, catalogue, settings, draft.draft(document, catalogue, settings.publishing.keep_names))

    def worded(self, other: Draft) -> "Edition":
        """Return the edition with other wording in place of the rules' own."""
        return replace(self, draft=other)

    @cached_property
    def facts(self) -> Facts:
        """What a template may print."""
        return outline.facts(self.document, self.catalogue, self.settings, self.draft)

    @cached_property
    def settled(self) -> Document:
        """The document without what still waits for a decision."""
        return settled(self.document)
