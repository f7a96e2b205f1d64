"""Tasks of single commands besides the pipeline: start, accept, approve, label copy, a second opinion."""
