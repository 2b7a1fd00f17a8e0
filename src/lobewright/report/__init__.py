"""What a person and another program read of an assessment: the report page and ``results.json``."""
