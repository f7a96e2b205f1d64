"""An invented label and album, its music made by code, and the command that shows the whole job."""
