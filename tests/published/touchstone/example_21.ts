! 2-port network, S-parameters
! Default MA format, GHz frequencies, 50-ohm reference, S-parameters
[Version] 2.1
#
[Number of Ports] 2
[Number of Frequencies] 2
[Reference] 50 25.0
[Two-Port Data Order] 12_21
[Network Data]
! NETWORK PARAMETERS
2 0.95 -26 3.57 157 0.04 76 0.66 -14
22 0.60 -144 1.30 40 0.14 40 0.56 -85
[End]
