"""Printed matter: what stands on a sheet, and the setting of it as an archival, tagged PDF."""
