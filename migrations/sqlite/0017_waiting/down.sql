DROP TABLE waiting_jobs;
