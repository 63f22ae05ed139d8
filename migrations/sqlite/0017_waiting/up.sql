-- Jobs that wait for plugs. What was asked for lies as it was derived then, with the policy that it was
-- derived by; the columns are what is searched for.
CREATE TABLE waiting_jobs (
    id TEXT NOT NULL PRIMARY KEY,
    job_key TEXT NOT NULL,
    place_id TEXT NOT NULL REFERENCES places (id),
    build_id TEXT REFERENCES builds (id),
    state TEXT NOT NULL,
    body TEXT NOT NULL,
    needs TEXT NOT NULL,
    -- A JSON list of the parts that meet it with enough of them to be had, whoever else waits for them.
    offers TEXT NOT NULL,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX waiting_jobs_line ON waiting_jobs (id) WHERE state <> 'closed';
CREATE INDEX waiting_jobs_job ON waiting_jobs (job_key);
CREATE INDEX waiting_jobs_build ON waiting_jobs (build_id) WHERE build_id IS NOT NULL;
