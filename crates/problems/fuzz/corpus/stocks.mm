jobs (incl. supersource/sink ):  4
RESOURCES
  - renewable                 :  1   R
  - nonrenewable              :  1   N
  - doubly constrained        :  1   D
************
PRECEDENCE RELATIONS:
jobnr.    #modes  #successors   successors
   1        1          2           2   3
   2        2          1           4
   3        2          1           4
   4        1          0
************
REQUESTS/DURATIONS:
jobnr. mode duration  R 1  N 1  D 1
-----------------------------------
  1      1     0       0    0    0
  2      1     2       3    4    1
         2     4       1    2    0
  3      1     3       2    3    2
         2     5       1    1    1
  4      1     0       0    0    0
************
RESOURCEAVAILABILITIES:
  R 1  N 1  D 1
    3    5    2    6
************
