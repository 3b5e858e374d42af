// A test bench that plays a two-wire reader with open-drain outputs and pull-ups at the panel, for a recording by a
// writer that is not ours. It sends the same 26-bit read twice, 100 ms apart: facility 212, number 7041, in the format
// of SIA AC-01-1996.10 (11101010000011011100000010). Pulses are 50 us wide and begin 2 ms apart.
//
// The recording next to this file was made with Icarus Verilog 11.0, a hardware simulator, by
//
//     iverilog -o reader.vvp reader.v && vvp reader.vvp
//
// which writes reader.vcd. Its $date was then replaced, so that making it again changes nothing else.
`timescale 1us / 100ns

module panel_input (input wire d0, input wire d1, output reg [7:0] count);
  initial count = 0;
  always @(negedge d0 or negedge d1) count = count + 1;
endmodule

module reader;
  tri1 data0, data1; // pulled up: high unless driven low
  reg drive0, drive1;
  assign data0 = drive0 ? 1'b0 : 1'bz;
  assign data1 = drive1 ? 1'b0 : 1'bz;

  reg [25:0] card = 26'b11101010000011011100000010;
  wire [7:0] count;
  panel_input panel (.d0(data0), .d1(data1), .count(count));

  integer i;
  task send;
    for (i = 25; i >= 0; i = i - 1) begin
      if (card[i]) drive1 = 1; else drive0 = 1;
      #50 drive0 = 0;
      drive1 = 0;
      #1950;
    end
  endtask

  initial begin
    $dumpfile("reader.vcd");
    $dumpvars(0, reader);
    #1000 drive0 = 0; // until here nobody drives, and the lines are unknown
    drive1 = 0;
    #79000 send;
    #100000 send;
    #80000 $finish;
  end
endmodule
