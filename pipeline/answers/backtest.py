"""How would past forecasts have done?"""

from __future__ import annotations

from pipeline.analyses import backtest as analysis
from pipeline.analyses.backtest import Backtest
from pipeline.answers.wax_to_come import priors, sessions_on_comb
from pipeline.flow import Loaded


def backtest(loaded: Loaded) -> Backtest:
    """Each session forecast from those before it, against what came."""
    return analysis.backtest(sessions_on_comb(loaded), priors(loaded))
