"""The meters, one by one."""
