"""What spec files may say, and what they say in plain words: all of it assembled from the rules.

assemble     the JSON Schema of spec files
catalogue    every rule, as a page to read
sentences    a spec explained; two specs compared
begin        a new spec file with comments that teach

``python -m delivery.schema`` writes specs/spec.schema.json and specs/catalogue.md anew; a test compares them.
"""

from delivery.schema.assemble import spec_schema
from delivery.schema.begin import new_spec
from delivery.schema.catalogue import catalogue
from delivery.schema.sentences import difference, explain

__all__ = ["catalogue", "difference", "explain", "new_spec", "spec_schema"]
