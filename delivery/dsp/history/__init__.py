"""What earlier processing left in the samples: effective bits, quantisation, traces of lossy coders."""
