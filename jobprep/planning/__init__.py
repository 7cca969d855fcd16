"""From parts to a plan: stock, nests, cuts, and a run's record, for one job."""
