"""Parts and jobs over all their runs: a part's life, a job's way, tags, what an evening needs."""
