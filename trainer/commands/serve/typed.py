"""What a visitor types, of what a page says is typed: what no keyboard or mouse sends is left out.

A page's terminal (xterm.js) sends keys, clicks and pastes, each whole in one message, and answers one
question. Whatever else a terminal could send (its size, numbers of characters) can only be made up, and isn't
passed on: the size comes in a message of its own, where it is looked at.

Source of the sequences: XTerm Control Sequences (T. E. Dickey), "PC-Style Function Keys", "Mouse Tracking"
(SGR, 1006) and "Bracketed Paste Mode"; a lone escape key as in the kitty keyboard protocol.
"""

import re

ESCAPE = "\x1b[27u"  # the key, as a whole sequence: nothing that comes after it can become part of it
PARTS = re.compile(
    r"""
    (?P<kept>
        \x1b\[200~ [^\x1b]* \x1b\[201~             # a paste
      | \x1b\[ [A-DFHZ] | \x1b O [A-DFHMP-S]       # arrows, home, end, back tab, F1 to F4
      | \x1b\[ 1;[0-9]{1,2} [A-DFHP-S]             # with shift, alt or ctrl
      | \x1b\[ [0-9]{1,2} (?: ;[0-9]{1,2} )? ~  # delete, page up, F5 to F12
      | \x1b\[ < [0-9]{1,3} (?: ;[0-9]{1,4} ){2} [Mm]        # the mouse
      | \x1b\[ \? 2026; [0-4] \$y                  # whether it draws a frame at once
      | \x1b [^\x1b\[O]                            # alt and a character
    )
    | (?P<escape> \x1b (?= \x1b | \Z) )
    | \x1b\[ [0-?]* [\ -/]* [@-~]? | \x1b O       # all others
    """,
    re.VERBOSE,
)


def typed(text: str) -> str:
    """What a keyboard or a mouse can have sent of a text; may be nothing."""
    return PARTS.sub(lambda part: ESCAPE if part["escape"] else part["kept"] or "", text)
