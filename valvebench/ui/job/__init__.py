"""The page of the job: what came in, the bench set-up, and how it is finished."""
