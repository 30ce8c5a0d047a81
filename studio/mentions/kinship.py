"""Which rows are of one family, and which are taken for each other."""

from studio.mentions.index import Row


def related(one: Row, other: Row) -> bool:
    """Return whether two rows are of one family: the same head, or the same kind and a shared word."""
    if one.heads & other.heads:
        return True
    return bool(set(one.words) & set(other.words)) and one.product.kind == other.product.kind


def close(one: Row, other: Row) -> bool:
    """Return whether two rows are taken for each other: they differ in one or two words."""
    if one is other:
        return False
    mine, theirs = set(one.words), set(other.words)
    return bool(mine & theirs) and len(mine - theirs) <= 2 and len(theirs - mine) <= 2 and related(one, other)


def of_one_line(one: Row, other: Row) -> bool:
    """Return whether two rows differ in their last word only, as the colours of a line do."""
    return one.words[:-1] == other.words[:-1]
