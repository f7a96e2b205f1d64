"""Countries (ISO 3166-1) and languages (ISO 639): codes and English names, read from tables beside these modules."""
