"""What leaves the bench: the Excel workbook.  Nothing here touches the disk."""
