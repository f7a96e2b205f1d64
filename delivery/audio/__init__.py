"""Audio input and output: read blocks, write integers, encode."""
