"""Detectors on trial: faults planted by code in clean material, and what each detector makes of both.

One module here holds one detector or a few that belong together (see ``trial.Detector``); being here is being on trial.
"""
