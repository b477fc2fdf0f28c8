"""combtally: from a book of wax logs to yields, losses, stock and a report.

The data takes one way through these rooms; ``flow`` is the run on one page.

``contract`` says what a book may hold; ``book`` is one person's folder; ``reading`` turns its files into typed tables in
``database``, where ``models`` (one SELECT each, by theme) work out figures and ``checks`` (one SELECT each) find faults.
``answers`` fetch rows and hand them to ``analyses``, which estimate; ``wording`` makes text of values; ``report``,
``web`` and ``cli`` show it. ``recording`` is the one room that writes into the logs.
"""

__version__ = "0.2.0"
