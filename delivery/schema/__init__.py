"""The schema of spec files and their requirements in plain words, assembled from the rules.

assemble     the JSON Schema of spec files
catalogue    every rule, as a page to read
sentences    a spec explained; two specs compared
label_copy   what follows the table of label-copy fields
figures_page every figure: its definition and measurement
begin        a new spec file with explanatory comments

``python -m delivery.schema`` writes specs/spec.schema.json, catalogue.md and figures.md, the figures in
output.schema.json and the label-copy fields in it and in release.schema.json; a test compares them.
"""

from delivery.schema.assemble import spec_schema
from delivery.schema.begin import new_spec
from delivery.schema.catalogue import catalogue
from delivery.schema.sentences import difference, explain

__all__ = ["catalogue", "difference", "explain", "new_spec", "spec_schema"]
