~V
VERS. 2.0 :
WRAP. NO  :
~C
DEPT.M  : depth
ROP.M/HR : rate
~A
100.0 12.0
