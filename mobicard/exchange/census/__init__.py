"""Bed lists in: CSV and HL7 v2 ADT, read strictly, previewed, matched to stays."""
