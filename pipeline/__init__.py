"""combtally: from a book of wax logs to yields, losses, stock and a report.

``cli`` parses and prints; ``flow`` is the run on one page: ``reading`` (with ``quantities``, ``columns`` and ``logs``)
turns files into typed tables, ``book`` and ``settings`` bring what the keeper set, ``warehouse`` runs ``models/*.sql``
(several ``abreast``), ``checking`` (with ``linking``) asks ``checks/*.sql`` for ``findings``, and ``leaving_out`` takes
away what cannot be used. From the tables ``figures`` fetches; ``outlook``, ``progress`` and ``quality`` hand rows to
the ``analyses``, which estimate; ``report`` draws, with a ``pen`` of its own. ``building`` and ``keeping`` write page
and database, ``starting`` a new book, ``recording`` the logs.
"""

__version__ = "0.1.0"
