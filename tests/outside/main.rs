mod job_schema;
