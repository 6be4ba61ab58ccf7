~Version Information
VERS.            2.0                  : CWLS LOG ASCII STANDARD - VERSION 2.0
WRAP.            NO                   : ONE LINE PER TIME STEP
~Well Information
STRT.S           0.0                  : START TIME
STOP.S           4.0                  : STOP TIME
STEP.S           1.0                  : STEP
NULL.            -9999.25             : NULL VALUE
COMP.            TRAINING             : COMPANY
WELL.            EMBERHOLT 4          : WELL
DATE.            2026 03 14           : DATE OF THE FIRST ROW
# the index counts from T0 below
~Curve Information
TIME .S                               : 1 elapsed seconds since T0
HKLA .KDN                             : 2 hook load, mean
SPPA .KPA                             : 3 standpipe pressure: mean
TVA  .M3                              : 4 active tank volume
~Parameter Information
T0   .           2026-03-14T06:00:00Z : instant of TIME = 0: ISO 8601
~Other
VERS.            9.9                  : text of this section means nothing
~A  TIME       HKLA       SPPA        TVA
     0.0      82.40   13790.00      60.10
     1.0      82.50   13810.00      60.10
     2.0   -9999.25   -9999.25   -9999.25
     3.0      82.60   13800.00      60.20
     4.0      82.60   13795.00   -9999.25
