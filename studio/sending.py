"""The two things that leave the machine, each only when asked for: wording help, and a draft sent to the own site."""

from collections.abc import Callable
from pathlib import Path

from studio import cache, folio, micropub, pipeline, polish, post, questions, swap
from studio import settings as choices
from studio.asked import again
from studio.edition import Edition
from studio.errors import BonefolderError, SettingsError
from studio.polish import Polished
from studio.settled import waiting

Tell = Callable[[str], None]
"""Is told what goes where, before it goes."""


def polish_folio(folder: Path, tell: Tell, settings_file: Path | None = None) -> Polished:
    """Offer every sentence of the post to the model of the settings; write the result beside the post.

    Files: `post.polished.md`, `post.polished.html`, `post.polished.trace.json`; one that the person has changed stays.

    Raises:
        SettingsError: no model is set.
        FolioDamaged: the folder was never made here.
    """
    edition = _edition(folder, tell, settings_file)
    settings = edition.settings
    if not settings.polish.endpoint:
        raise SettingsError("No language model is set.", "Name its endpoint under [polish] in your settings.")
    tell(polish.notice(settings.polish, edition.draft))
    names = [row.name for row in edition.document.supplies]
    result = polish.polished(edition.draft, names, polish.model(settings.polish))
    for name, text in post.files(edition.worded(result.draft)).items():
        if name.startswith("post."):
            target = swap.place(folder, name.replace("post.", "post.polished.", 1))
            cache.write(target, text.encode() if isinstance(text, str) else text)
            swap.note(folder, target)
    return result


def published(folder: Path, tell: Tell, settings_file: Path | None = None, *, anyway: bool = False) -> str:
    """Send the post as a draft to the Micropub endpoint of the settings, and return its address there.

    Raises:
        BonefolderError: something is still to be decided, and `anyway` is not set.
        SettingsError: no endpoint or token is set, or the site refused.
        FolioDamaged: the folder was never made here.
    """
    edition = _edition(folder, tell, settings_file)
    blocked = questions.open_keys(questions.questions(edition.document, edition.catalogue))
    if blocked and not anyway:
        held_out = waiting(edition.document)
        raise BonefolderError(
            (f"{held_out} and stay out of what is published; " if held_out else "")
            + f"{len(blocked)} things are still wrong or to be decided.",
            "Settle them at the desk, or add --anyway.",
        )
    facts, settings = edition.facts, edition.settings
    entry = micropub.entry(facts, post.article(post.markdown(facts, settings)), post.summary(facts))
    return micropub.send(entry, settings.publishing, tell)


def _edition(folder: Path, tell: Tell, settings_file: Path | None) -> Edition:
    """Bring the folio up; addresses are those that the person has set by now, else those that it was made with."""
    request, own = again(folder), choices.chosen(settings_file)
    for path in dict.fromkeys((*request.settings_files, *own.files)):
        tell(f"Settings used: {path}")
    made = folio.make(request)
    settings = choices.with_addresses(request.settings, own.settings)
    return Edition.of(made.document, pipeline.products(request), settings)
