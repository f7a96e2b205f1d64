"""The desk: the delivery sheet in a browser on the user's own machine, still open, to be completed and built.

server     one process on the loopback address; a second start finds the first
guard      which requests are answered at all; sessions: who may ask
state      open releases; folders: what may be read; worker: checks and builds in a process of their own
feed       what a page is informed of while it is open
pages/     parse, call the public names, tasks and the pipeline, render: no rule and no arithmetic here
"""
