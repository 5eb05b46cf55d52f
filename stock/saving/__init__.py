"""What all jobs that save rows share: the sheets, matching, versions."""
