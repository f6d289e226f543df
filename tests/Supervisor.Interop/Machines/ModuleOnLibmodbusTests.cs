using System.Runtime.Versioning;
using System.Text.Json;
using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Configuration.Machines;
using Supervisor.Interop.Peers;
using Supervisor.Records.Faults;
using Supervisor.Runtime;
using Supervisor.Runtime.Outputs;
using Supervisor.Runtime.Ports;
using Supervisor.Runtime.Stops;

namespace Supervisor.Interop.Machines;

/// <summary>A module served by libmodbus at the other end of a line, as single bits and packed in registers.</summary>
[SupportedOSPlatform("linux")]
public sealed class ModuleOnLibmodbusTests(ModuleSlaveProgram program)
{
    private const string SingleBits = """ "inputs": { "function": 2, "start": 8, "bits": 16 }, "outputs": { "function": 15, "start": 0, "bits": 8 } """;
    private const string OneCoil = """ "inputs": { "function": 2, "start": 8, "bits": 16 }, "outputs": { "function": 5, "start": 0, "bits": 8 } """;
    private const string Packed = """ "inputs": { "function": 4, "start": 0, "bits": 16 }, "outputs": { "function": 16, "start": 100, "bits": 8 } """;
    private const string OneRegister = """ "inputs": { "function": 4, "start": 0, "bits": 16 }, "outputs": { "function": 6, "start": 100, "bits": 8 } """;

    [Theory]
    [InlineData(SingleBits)]
    [InlineData(OneCoil)]
    [InlineData(Packed)]
    [InlineData(OneRegister)]
    public void Module_ItsInputsOutputsAndTimeOut_AreReadSetAndMetAnew(string bits) => Try(bits, bench =>
    {
        bench.WaitFor("the module's time-out to be set and read back", () => bench.Board.Modules[0].Read() is { Online: true, OutputsReady: true });
        Assert.Contains("armed 200", bench.Module.Output, StringComparison.Ordinal);

        bench.Module.Say("input 3 1");
        bench.WaitFor("the guard to be closed", () => bench.Board.Inputs.Read(0) is { Known: true, Closed: true });
        bench.Board.Latch.Reset(StopCauses.Interlock(0), bench.Board.Latch.TripCount(StopCauses.Interlock(0)));
        bench.Module.Say("input 3 0");
        bench.WaitFor("the open guard to trip", () => bench.Board.Latch.IsStanding(StopCauses.Interlock(0)));

        bench.Order(true);
        Assert.Equal("00100000", bench.Outputs());

        // Its own time-out: outputs off by themselves, and nothing on again before it is ordered anew.
        bench.Module.Say("mute 1");
        bench.WaitFor("the outputs to fall", () => bench.Module.Output.Contains("fell", StringComparison.Ordinal));
        bench.WaitFor("the module to be told lost", () => bench.Told(FaultCode.ModuleLost));
        bench.Module.Say("mute 0");
        bench.WaitFor("the output to be found off", () => bench.Gripper.Read() is { Known: true, On: false } && bench.Board.Modules[0].Read().OutputsReady);
        Assert.Equal("00000000", bench.Outputs());
        bench.Order(true);

        bench.Module.Say("dip");
        bench.WaitFor("the dip to be found", () => bench.Told(FaultCode.ModuleRestarted));
        bench.WaitFor("the output to be found off again", () => bench.Gripper.Read() is { Known: true, On: false } && bench.Board.Modules[0].Read().OutputsReady);
        bench.Order(true);
        Assert.Equal("00100000", bench.Outputs());
    });

    /// <summary>Plays it again, a few times at most, when the whole computer stood still meanwhile.</summary>
    private void Try(string bits, Action<Bench> scenario)
    {
        Peer.Require(Peer.Libmodbus);
        for (var attempt = 1; ; attempt++)
        {
            using var watch = new StallWatch();
            try
            {
                using var bench = new Bench(program, bits);
                scenario(bench);
                return;
            }
            catch (Exception failure) when (attempt < 4 && watch.WasDisturbed)
            {
                TestContext.Current.TestOutputHelper?.WriteLine($"Attempt {attempt}: a processor stood still for {watch.Longest}. {failure.Message}");
            }
        }
    }

    /// <summary>The line, the module, and the port's stepper on its thread. The machine's one axis is on a port that is not there.</summary>
    private sealed class Bench : IDisposable
    {
        private const byte Address = 20;
        private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);
        private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("module-bench-");
        private readonly LinuxMonotonicClock _clock = new();
        private readonly LineRelay _line = new();
        private readonly PortThread _thread;
        private readonly HashSet<FaultCode> _told = [];
        private volatile Exception? _broken;
        private int _mark;

        public Bench(ModuleSlaveProgram program, string bits)
        {
            Module = program.Start(_line.SlaveDevice, Address);
            Board = new MachineBoard(ReadFile(bits));
            var stepper = new PortStepper(Board, 0);
            _thread = new PortThread(Board, stepper, "line", () => SerialLink.Open(_line.MasterDevice, stepper.Line).Link, _clock, error => _broken = error);
            _thread.Start();
        }

        public PeerProcess Module { get; }

        public MachineBoard Board { get; }

        public OutputCell Gripper => Board.Outputs.Cells[0];

        public void Order(bool on)
        {
            Gripper.Want(on, Gripper.Drops);
            WaitFor($"the output to be confirmed {on}", () => Gripper.Read() is { Known: true } reading && reading.On == on && reading.Acknowledged == Gripper.Order.Number);
        }

        /// <summary>Asks the module beside the line.</summary>
        public string Outputs()
        {
            var told = $"outputs {++_mark} ";
            Module.Say($"outputs {_mark}");
            WaitFor("the module to tell its outputs", () => Module.Output.Contains(told, StringComparison.Ordinal));
            return Module.Output.Split('\n').Single(line => line.StartsWith(told, StringComparison.Ordinal))[told.Length..].Trim();
        }

        public bool Told(FaultCode code)
        {
            while (Board.Ports[0].Faults.TryRead(out var fault))
            {
                _told.Add(fault.Code);
            }

            return _told.Contains(code);
        }

        public void WaitFor(string what, Func<bool> isSo)
        {
            var bound = _clock.Now + Patience;
            while (!isSo())
            {
                Assert.True(_broken is null, $"A thread ended: {_broken}");
                Assert.True(_clock.Now < bound, $"Waited in vain for {what}. The module said: {Module.Output}");
                _clock.WaitUntil(_clock.Now + TimeSpan.FromMilliseconds(3));
            }
        }

        public void Dispose()
        {
            var ended = _thread.Stop();
            Module.Dispose();
            _line.Dispose();
            _folder.Delete(recursive: true);
            Assert.True(ended, "The port's thread did not end.");
        }

        private MachineDefinition ReadFile(string bits)
        {
            File.Copy(DriveSlaveProgram.Definition(DriveSlaveProgram.Bits), Path.Combine(_folder.FullName, "drive.json"));
            var path = Path.Combine(_folder.FullName, "machine.json");
            var device = JsonEncodedText.Encode(_line.MasterDevice);
            File.WriteAllText(path, $$"""
                {
                  "machine": { "name": "A module" },
                  "ports": [ { "name": "line", "device": "{{device}}", "baud": 115200, "parity": "none", "stopBits": 1, "cycleMs": 100, "responseTimeoutMs": 95, "retries": 3 },
                             { "name": "none", "device": "/dev/there-is-none", "baud": 115200, "parity": "none", "stopBits": 1, "cycleMs": 100 } ],
                  "axes": [ { "name": "slide", "port": "none", "address": 5, "definition": "drive.json", "unit": "mm", "countsPerUnit": 100,
                              "limits": { "position": [0, 100], "velocity": 300, "acceleration": 1000, "deceleration": 1000 },
                              "homing": { "method": 17, "fast": 100, "slow": 10 } } ],
                  "modules": [ { "name": "terminal", "port": "line", "address": {{Address}}, {{bits}}, "staleMs": 3000,
                                 "communicationTimeout": { "register": 4096, "unitMs": 10, "timeoutMs": 2000, "start": [ { "register": 4097, "value": 1 } ] } } ],
                  "outputs": [ { "name": "gripper", "output": "module:terminal/2", "atStop": "hold", "atDisable": "hold", "atFault": "hold", "atStart": "hold", "atLoss": "off" } ],
                  "interlocks": [ { "name": "guard", "kind": "guard", "inputs": ["module:terminal/3"], "stopCategory": 1, "axes": "all", "resetInput": "module:terminal/4", "staleMs": 9000 } ]
                }
                """);
            var file = MachineFile.Read(path);
            Assert.True(file.IsGood, string.Join(Environment.NewLine, file.Errors));
            return file.Value!;
        }
    }
}
