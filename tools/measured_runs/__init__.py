"""Published runs, predicted: the set, the prediction of one run, scores, and the page."""
