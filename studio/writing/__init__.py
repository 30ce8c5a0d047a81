"""From what was said to what is written: every change listed, every sentence traced."""
