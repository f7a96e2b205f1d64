"""What single commands need besides the pipeline: start, accept, approve, label copy, a second opinion."""
