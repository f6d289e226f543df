using System.Globalization;
using System.Runtime.Versioning;
using System.Text.RegularExpressions;
using Supervisor.Bus;
using Supervisor.Configuration.Machines;
using Supervisor.Interop.Peers;
using Supervisor.Simulation.Bench;

namespace Supervisor.Interop.Machines;

/// <summary>The command line master mbpoll homes and moves a simulated drive on a pseudo-terminal, word by word as CiA 402 tells.</summary>
[SupportedOSPlatform("linux")]
public sealed partial class MbpollMovesSimulatedDriveTests
{
    private const int Statusword = 0;
    private const int Position = 1;
    private const int Controlword = 64;
    private const int Mode = 65;
    private const int TargetPosition = 66;

    [Theory]
    [InlineData(6000)]
    [InlineData(-70000)]
    public void Drive_WordsWrittenByMbpoll_HomesAndMoves(int target)
    {
        Peer.Require(Peer.Mbpoll);
        using var bench = new Bench();

        // Shutdown 06, switch on 07, enable operation 0F; statusword masks 6F/21, 6F/23, 6F/27 (CiA 402, from a secondary text).
        bench.Write(Controlword, 0x06);
        bench.WaitFor(Statusword, word => (word & 0x6F) == 0x21);
        bench.Write(Controlword, 0x07);
        bench.WaitFor(Statusword, word => (word & 0x6F) == 0x23);
        bench.Write(Controlword, 0x0F);
        bench.WaitFor(Statusword, word => (word & 0x6F) == 0x27);

        // Mode 6 is homing; statusword, mask 3400h: 1400h is done.
        bench.Write(Mode, 6);
        bench.Write(Controlword, 0x1F);
        bench.WaitFor(Statusword, word => (word & 0x3400) == 0x1400);

        // Mode 1 is profile position; set-point handshake by bits 4 and 12 (value from memory), bit 10: target reached.
        bench.Write(Controlword, 0x0F);
        bench.Write(Mode, 1);
        bench.Write(TargetPosition, target >> 16 & 0xFFFF, target & 0xFFFF, 1, 0x86A0);
        bench.Write(Controlword, 0x1F);
        bench.WaitFor(Statusword, word => (word & 0x1000) != 0);
        bench.Write(Controlword, 0x0F);
        bench.WaitFor(Statusword, word => (word & 0x1400) == 0x0400);

        var words = bench.Read(Position, 2);
        Assert.InRange(words[0] << 16 | words[1], target - 20, target + 20);
    }

    [Fact]
    public void Drive_NotEnabled_DoesNotMove()
    {
        Peer.Require(Peer.Mbpoll);
        using var bench = new Bench();
        var before = bench.Read(Position, 2);

        bench.Write(Mode, 1);
        bench.Write(TargetPosition, 0, 30000, 0, 50000);
        bench.Write(Controlword, 0x1F);

        Assert.Equal(0x40, bench.Read(Statusword, 1)[0] & 0x4F);
        Assert.Equal(before, bench.Read(Position, 2));
    }

    [GeneratedRegex(@"\[(\d+)\]:\s+0x([0-9A-F]{4})")]
    private static partial Regex Value();

    /// <summary>A machine file's only drive, simulated on a device node.</summary>
    private sealed class Bench : IDisposable
    {
        private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("mbpoll-bench-");
        private readonly LinuxMonotonicClock _clock = new();
        private readonly MachineBench _bench;

        public Bench()
        {
            File.Copy(DriveSlaveProgram.Definition(DriveSlaveProgram.Cia402), Path.Combine(_folder.FullName, "drive.json"));
            var path = Path.Combine(_folder.FullName, "machine.json");
            File.WriteAllText(path, """
                {
                  "machine": { "name": "One axis" },
                  "ports": [ { "name": "line", "device": "line", "baud": 115200, "cycleMs": 40 } ],
                  "axes": [
                    { "name": "slide", "port": "line", "address": 3, "definition": "drive.json", "unit": "mm", "countsPerUnit": 1000,
                      "limits": { "position": [-100, 100], "velocity": 200, "acceleration": 500, "deceleration": 500 },
                      "homing": { "method": 17, "fast": 100, "slow": 5 } } ]
                }
                """);
            var file = MachineFile.Read(path);
            Assert.True(file.IsGood, string.Join(Environment.NewLine, file.Errors));
            _bench = new MachineBench(file.Value!, _folder.FullName, _clock);
            _bench.Start();
        }

        public ushort[] Read(int register, int count)
        {
            var output = Mbpoll(["-r", $"{register}", "-c", $"{count}", "-t", "4:hex", "-1"], []);
            var values = Value().Matches(output).Select(match => ushort.Parse(match.Groups[2].Value, NumberStyles.HexNumber, null)).ToArray();
            Assert.True(values.Length == count, output);
            return values;
        }

        public void Write(int register, params int[] values) => Mbpoll(["-r", $"{register}"], [.. values.Select(value => $"{value}")]);

        public void WaitFor(int register, Predicate<ushort> isWanted)
        {
            var bound = _clock.Now + TimeSpan.FromSeconds(60);
            ushort last;
            while (!isWanted(last = Read(register, 1)[0]))
            {
                Assert.True(_clock.Now < bound, $"Register {register} never came to that; last {last:X4}");
            }
        }

        public void Dispose()
        {
            _bench.Dispose();
            _folder.Delete(recursive: true);
        }

        private string Mbpoll(string[] options, string[] values)
        {
            string[] line = ["-m", "rtu", "-0", "-a", "3", "-b", "115200", "-P", "none", "-o", "5"];
            var (code, output) = PeerProcess.Run("mbpoll", [.. line, .. options, Path.Combine(_folder.FullName, "line"), .. values]);
            Assert.True(code == 0, output);
            return output;
        }
    }
}
