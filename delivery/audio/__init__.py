"""The edge to sound: read blocks, write integers, encode."""
