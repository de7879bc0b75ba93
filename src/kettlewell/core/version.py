"""The version of the model, stamped on everything it says."""

MODEL_VERSION = "13"
