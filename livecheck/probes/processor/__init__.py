"""The processor under load, alone and together with memory."""
