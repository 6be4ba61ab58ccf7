"""All input and output: feeds, decoders, the recording, exports."""
