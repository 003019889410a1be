"""What text XML can carry."""

from __future__ import annotations

import re

NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")  # XML 1.0, section 2.2: Char
STAND_IN = "\ufffd"  # Unicode's replacement character


def sayable(text: str) -> str:
    """Return text with a stand-in for every character that XML 1.0 forbids.

    >>> sayable("a\\x00b") == "a\\ufffdb"
    True
    """
    return NOT_XML.sub(STAND_IN, text)
