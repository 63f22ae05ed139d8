-- Jobs that wait for plugs. What was asked for lies as it was derived then, with the policy that it was
-- derived by; the columns are what is searched for.
CREATE TABLE waiting_jobs (
    id text COLLATE "C" NOT NULL PRIMARY KEY,
    job_key text COLLATE "C" NOT NULL,
    place_id text COLLATE "C" NOT NULL REFERENCES places (id),
    build_id text COLLATE "C" REFERENCES builds (id),
    state text COLLATE "C" NOT NULL,
    body text COLLATE "C" NOT NULL,
    needs text COLLATE "C" NOT NULL,
    -- A JSON list of the parts that meet it with enough of them to be had, whoever else waits for them.
    offers text COLLATE "C" NOT NULL,
    version bigint NOT NULL,
    created_at bigint NOT NULL,
    updated_at bigint NOT NULL
);

CREATE INDEX waiting_jobs_line ON waiting_jobs (id) WHERE state <> 'closed';
CREATE INDEX waiting_jobs_job ON waiting_jobs (job_key);
CREATE INDEX waiting_jobs_build ON waiting_jobs (build_id) WHERE build_id IS NOT NULL;
