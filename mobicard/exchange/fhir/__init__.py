"""FHIR R4 out and in: a bundle of what is known of each stay and what follows from it."""
