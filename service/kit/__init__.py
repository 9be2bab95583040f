"""The toolbox: database, errors, clock, paging, jobs, logging. It knows nothing of the register."""
