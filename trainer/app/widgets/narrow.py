"""Of a picture's row only the cells that are to be shown anew are sent, none before them.

A ball that rolls changes a few cells in each of its rows. Textual leaves out what comes after these, but
sends again what comes before them: most of a film, over a slow link.
"""

from trainer.app.widgets.row import Row


def narrow(update: object) -> None:
    """Cut the pictures' rows of an update of the screen where what is to be shown begins.

    Textual sends whole pieces of its rows, from the one in which a span begins; so a piece is to begin there,
    too. What isn't an update of some spans, or not in the form that we know, stays as it is.
    """
    try:
        spans, rows, ends = update.spans, update.chops, update.chop_ends  # type: ignore[attr-defined]
    except AttributeError:
        return
    for y, first, _ in spans:
        for x, end in zip(list(rows[y]), ends[y], strict=False):
            piece = rows[y][x]
            if x < first < end and isinstance(piece, Row):
                parts = {x: piece.crop(0, first - x), first: piece.crop(first - x)}
                rows[y] = dict(sorted((rows[y] | parts).items()))
                ends[y] = sorted([*ends[y], first])
                break
