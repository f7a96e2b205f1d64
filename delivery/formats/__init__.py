"""One file for each container; being here is being registered."""
