"""The field dictionary: a column that is the same quantity wherever it stands is described here, once.

A model names such columns in a line ``-- with: session, loaded_g`` of its header and describes only what it adds. The
last letters of a name are its unit: ``_g`` grams, ``_g2`` grams squared; a share is 0-1; a date is a day.
"""

from __future__ import annotations

FIELDS = {
    # what a row is about
    "harvest": "the harvest",
    "session": "the session",
    "block": "the block",
    "candle": "the kind of candle",
    "blend": "its recipe; missing for pure wax",
    "id": "its name; of draws and sales, which have none, their row",
    "date": "the day: of a session, that of its first pass; of a pass or a load, the one on which the wax of the pass came off",
    "row": "its row in its log, 1 = the first record; missing where it stands in none",
    "log": "the log that it stands in",
    # groups
    "grouping": "what it groups by: book, season, method, comb, apiary, hive or filter; columns of other groups are empty",
    "season": "the season: the year that it starts in",
    "method": "the way of melting; of a session, that of its first pass",
    "comb": "the kind of comb; of a session, the one that makes up 90 % of it, else mixed; missing where not logged",
    "apiary": "the apiary; missing where not logged",
    "hive": "the hive, of its apiary; missing where not logged",
    "filter": "what the wax was strained through; missing where not logged",
    "sessions": "how many sessions have a part in it",
    # sources of loads
    "source_kind": "harvest, block or session; missing where nobody logged it or it cannot be told",
    "source": "the name of the harvest, block or session",
    "part": "comb, wax or slumgum; missing where nobody logged it or it cannot be told",
    "load": "the row in loads; missing for a session without a load",
    "origin": "the session that rendered the comb first: itself for comb; missing for wax bought or recovered",
    "emptied": "whether nothing was left of the source",
    "weighed": "whether the load itself was weighed",
    "estimated": "whether the mass rests on frames",
    # passes
    "pass": "number of the pass in its session, of a step its first",
    "stage": "first (comb or slumgum melted), or refining",
    "in_g": "mass in, g: mass_in as weighed, else what was loaded and the last wax; and later loads of its run",
    "residue_g": "residues weighed, g",
    "unaccounted_g": "in - wax - residue, g",
    "loss": "1 - wax / in; missing where what went in is not known",
    # a session's balance: loaded = blocks + passed on + set aside + residue + unaccounted + handling + casting
    "loaded_g": "everything loaded over the passes, g, comb in frames as estimated; missing where it cannot be",
    "blocks_g": "blocks cast, g",
    "passed_on_g": "wax loaded into other sessions, g",
    "wax_g": "wax, g: of a step what came out; of a session blocks + passed on + set aside - wax loaded",
    "set_aside_g": "wax that waits, g",
    "handling_g": "wax of the pass before + loaded - mass in, g",
    "casting_g": "last wax - passed on - set aside - blocks, g",
    "last_date": "date of its last pass",
    "last_pass": "number of its last pass",
    "last_wax_g": "wax_out of the last pass, g",
    "wax_loaded_g": "blocks and wax of other sessions loaded, g",
    "fed_g": "comb and slumgum loaded, g; missing where not known",
    "slumgum_g": "slumgum loaded, g",
    "loads": "how many loads of comb and slumgum",
    "wax_loads": "how many loads of wax",
    "comb_loads": "how many loads of comb, or of what nobody logged",
    "logged": "whether it has a load at all",
    "known": "whether all that was loaded is known, not estimated",
    "wax_only": "whether it was fed by wax alone",
    "own_comb": "whether neither slumgum nor wax alone was loaded, so that its slumgum and losses belong to its own comb",
    "has_slumgum": "whether slumgum was loaded",
    "has_wax": "whether wax was loaded",
    "unweighed": "whether a load, a wax_out or a residue was left empty",
    "waits": "whether some of the wax, followed to its end, is still set aside",
    # yields
    "yield": "wax / loaded; missing where it cannot be known",
    "u": "standard uncertainty of the yield (GUM: weighings independent, the gain of one scale cancels)",
    "flags": "slumgum, wax_loaded, set_aside, unweighed, where they apply, of a group to one of its sessions; shared, of a hive",
    "by_loads": "whether weighings of loads are among those behind the yield",
    "by_blocks": "whether weighings of blocks are",
    "by_passes": "whether weighings of passes are",
    # the shelf and the store
    "turn": "order within the day: 0 in, 1 out by weight, 2 all that is left, 3 emptied, 4 stocktake",
    "rank": "order among the movements of a turn",
    "wax_expected": "when its wax is expected; missing: at once",
    "hold": "why it must not be rendered or sold",
}
"""What a column means, by its name."""
