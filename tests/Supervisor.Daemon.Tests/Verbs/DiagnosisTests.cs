using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Bus.Tests.Gpio;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Verbs.Diagnose;
using Supervisor.Records.Faults;
using Supervisor.Simulation.Bench;

namespace Supervisor.Daemon.Tests.Verbs;

/// <summary>A diagnosis of the demo machine with a module, on real pseudo-terminals.</summary>
[SupportedOSPlatform("linux")]
public sealed class DiagnosisTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("diagnosis-").FullName;
    private readonly MachineDefinition _machine;
    private readonly MachineBench? _bench;
    private readonly List<byte[]> _frames = [];
    private readonly StandInKernel _gpio = new();
    private string? _daemonSocket;

    public DiagnosisTests()
    {
        Directory.CreateDirectory(Path.Combine(_folder, "proc"));
        Directory.CreateDirectory(Path.Combine(_folder, "sys"));
        var packing = new BitPacking(16, BitOrder.LowFirst, ByteOrder.HighFirst, WordOrder.LowFirst);
        var time = new ModuleSetting(4096, 50, true);
        var demo = SmallMachine.Whole;
        _machine = demo with
        {
            // Patient: what is shown here is what was found, never how long it took.
            Ports = [.. demo.Ports.Select(port => port with { Device = Path.Combine(_folder, "links", port.Name), Cycle = TimeSpan.FromSeconds(5), ResponseTimeout = TimeSpan.FromSeconds(1), Retries = 1 })],
            Modules =
            [
                new ModuleDefinition("terminal", 1, 20, new ModuleInputs(2, 0, 16, packing, new Dictionary<string, int>()),
                    new ModuleOutputs(15, 0, 8, packing, new Dictionary<string, int>(), new ModuleReadBack(1, 0)),
                    new ModuleTimeoutDefinition(TimeSpan.FromMilliseconds(500), ModuleReaction.Off, TimeoutFeed.AnyFrame, 6, time, [time]),
                    TimeSpan.FromSeconds(5), TimeSpan.FromSeconds(20), TimeSpan.Zero) { Identification = new IdentificationDefinition("Maker", "IO-16", ["1.2", "1.3"]) },
            ],
            Interlocks = [.. demo.Interlocks, demo.Interlocks[1] with { Name = "rear guard", Inputs = [new InputReference("module:terminal/3", InputSource.Module, -1, null, null) { Module = new ModuleReference(0, 3) }] }],
        };
        if (OperatingSystem.IsLinux())
        {
            _bench = new MachineBench(_machine, Path.Combine(_folder, "links"), MonotonicClock.System);
            _bench.Start();
        }
        else
        {
            Assert.Skip("pseudo-terminals of this kind are Linux's");
        }
    }

    public void Dispose()
    {
        _bench?.Dispose();
        Directory.Delete(_folder, recursive: true);
    }

    [Fact]
    public void Run_HealthyMachine_FindsNothingWrongAndOnlyReads()
    {
        var things = Run(_machine);

        Assert.Equal(0, DiagnoseText.Count(things, FindingState.Wrong));
        Assert.Equal(["port", "port", "drive", "drive", "drive", "drive", "module"], things.Select(thing => thing.Kind).Take(7));
        Assert.All(things.Where(thing => thing.Kind == "drive"), drive => Assert.StartsWith("answers", drive.Findings[0].What, StringComparison.Ordinal));
        Assert.Contains("closed: 3", Of(things, "module", "terminal").Findings[0].What, StringComparison.Ordinal);
        Assert.Equal("reads 1: closed", Assert.Single(Of(things, "input", "module:terminal/3").Findings).What);
        Assert.Equal("reads 0: open", Assert.Single(Of(things, "input", "tray.input3").Findings).What);

        Assert.Contains(Of(things, "module", "terminal").Findings, finding => finding.What == "vendor Maker, product IO-16, revision 1.2");

        // Functions 1 to 4, and 43 with interface 14, read (MODBUS Application Protocol V1.1b3, section 6); everything else may write.
        Assert.NotEmpty(_frames);
        Assert.All(_frames, frame => Assert.True(frame[1] is >= 1 and <= 4 || (frame[1] == 43 && frame[2] == 14)));
    }

    [Fact]
    public void Run_ModuleOfAnotherKind_SaysWhatItTellsAndWhatIsAccepted()
    {
        var terminal = _machine.Modules[0];
        var things = Run(_machine with { Modules = [terminal with { Identification = new IdentificationDefinition("Maker", "IO-32", ["1.2"]) }] });

        var wrong = Assert.Single(Of(things, "module", "terminal").Findings, finding => finding.State == FindingState.Wrong);
        Assert.Equal("its product is \"IO-16\"; \"IO-32\" is accepted", wrong.What);
    }

    [Fact]
    public void Run_DriveThatDoesNotTellWhatItIs_SaysSo()
    {
        var axis = _machine.Axes[0];
        var things = Run(_machine with { Axes = [axis with { Drive = axis.Drive with { Identification = new IdentificationDefinition(null, null, []) } }, .. _machine.Axes.Skip(1)] });

        var wrong = Assert.Single(Of(things, "drive", axis.Name).Findings, finding => finding.State == FindingState.Wrong);
        Assert.Contains("function 43 is refused", wrong.What, StringComparison.Ordinal);
    }

    [Fact]
    public void Run_DriveInFault_SaysWhichAndWhatToDo()
    {
        _bench!.Execute("fault gantry 0x8611", out _);

        // 8611h is the following error of CiA 402's object 603Fh.
        var wrong = Assert.Single(Of(Run(_machine), "drive", "gantry").Findings, finding => finding.State == FindingState.Wrong);
        Assert.Contains("following error", wrong.What, StringComparison.Ordinal);
        Assert.Contains("8611h", wrong.What, StringComparison.Ordinal);
        Assert.NotEmpty(wrong.WhatToDo);
    }

    [Fact]
    public void Run_AddressWhereNobodyIs_SaysWhatToCheckAndAsksTheOthers()
    {
        var things = Run(_machine with { Axes = [_machine.Axes[0] with { Address = 99 }, .. _machine.Axes.Skip(1)] });

        var silent = Assert.Single(Of(things, "drive", _machine.Axes[0].Name).Findings);
        Assert.Contains("does not answer", silent.What, StringComparison.Ordinal);
        Assert.Contains("asked 2 times", silent.What, StringComparison.Ordinal);
        Assert.Contains("address", silent.WhatToDo, StringComparison.Ordinal);
        Assert.Equal(1, DiagnoseText.Count(things, FindingState.Wrong));
    }

    [Fact]
    public void Run_ModuleThatDoesNotFitItsEntry_TellsTheException()
    {
        var terminal = _machine.Modules[0];
        var things = Run(_machine with { Modules = [terminal with { Inputs = terminal.Inputs! with { Start = 100 } }] });

        var wrong = Of(things, "module", "terminal").Findings[0];
        Assert.Equal(FindingState.Wrong, wrong.State);
        Assert.Contains("exception 2 (illegal data address)", wrong.What, StringComparison.Ordinal);
        Assert.Equal("not read: what carries it did not answer", Assert.Single(Of(things, "input", "module:terminal/3").Findings).What);
    }

    [Fact]
    public void Run_PortThatIsNotThere_AsksNobodyOnItAndTheOtherPortAllTheSame()
    {
        _bench!.Execute("unplug line-a", out _);

        var things = Run(_machine);

        var port = Of(things, "port", "line-a");
        Assert.Contains("no such device", Assert.Single(port.Findings).What, StringComparison.Ordinal);
        Assert.All(_machine.Axes.Where(axis => axis.Port == 0), axis => Assert.StartsWith("not asked", Of(things, "drive", axis.Name).Findings[0].What, StringComparison.Ordinal));
        Assert.StartsWith("16 inputs", Of(things, "module", "terminal").Findings[0].What, StringComparison.Ordinal);
    }

    [Fact]
    public void Run_LineWhereNobodyAnswers_SaysThatOfThePort()
    {
        var things = Run(_machine with { Axes = [.. _machine.Axes.Select(axis => axis with { Address = (byte)(axis.Address + 100) })] });

        Assert.Contains(Of(things, "port", "line-a").Findings, finding => finding is { State: FindingState.Wrong, What: "nobody on this line answers" });
        Assert.DoesNotContain(Of(things, "port", "line-b").Findings, finding => finding.State == FindingState.Wrong);
    }

    [Fact]
    public void Run_AdapterThatHearsItself_IsNamedAtThePortAndItsDrives()
    {
        _bench!.Execute("echo line-a 1", out _);

        var things = Run(_machine);

        var port = Assert.Single(Of(things, "port", "line-a").Findings, finding => finding.State == FindingState.Wrong);
        Assert.Equal((SelfHearing.Finding, SelfHearing.Advice), (port.What, port.WhatToDo));
        Assert.All(
            _machine.Axes.Where(axis => axis.Port == 0),
            axis => Assert.Contains(SelfHearing.Finding, Assert.Single(Of(things, "drive", axis.Name).Findings).What, StringComparison.Ordinal));
        Assert.DoesNotContain(Of(things, "port", "line-b").Findings, finding => finding.State == FindingState.Wrong);
    }

    [Fact]
    public void Run_PortHeldByADaemon_RefusesAndTouchesNothing()
    {
        Hold(4711, "axis-supervisor", "serve", "--config", "machine.json");

        var things = new Diagnosis(_machine, Places()).Run(out var refusal);

        Assert.Empty(things);
        Assert.Contains("process 4711", refusal, StringComparison.Ordinal);
        Assert.Contains("line-a", refusal, StringComparison.Ordinal);
        Assert.Empty(_frames);
    }

    [Fact]
    public void Run_PortHeldByAnotherProgram_NamesItAndDiagnosesTheRest()
    {
        Hold(4712, "picocom", "/dev/line-a");
        using var held = LinuxSerialLink.Open(_machine.Ports[0].Device, new LineSettings(115200, LineParity.None, 1, GapRule.Standard, TimeSpan.Zero)).Link;

        var things = Run(_machine);

        Assert.Contains("process 4712 (picocom /dev/line-a)", Of(things, "port", "line-a").Findings[^1].What, StringComparison.Ordinal);
        Assert.StartsWith("16 inputs", Of(things, "module", "terminal").Findings[0].What, StringComparison.Ordinal);
    }

    [Fact]
    public void Run_PortHeldUnseenBesideADaemonsSocket_Refuses()
    {
        _daemonSocket = "/run/axis-supervisor/api.sock";
        using var held = LinuxSerialLink.Open(_machine.Ports[0].Device, new LineSettings(115200, LineParity.None, 1, GapRule.Standard, TimeSpan.Zero)).Link;

        Assert.Empty(new Diagnosis(_machine, Places()).Run(out var refusal));

        Assert.Contains(_daemonSocket, refusal, StringComparison.Ordinal);
        Assert.Empty(_frames);
    }

    [Theory]
    [InlineData("16", 1000, FindingState.Note)]
    [InlineData("16", 16, FindingState.Wrong)]
    [InlineData("1", 16, FindingState.Good)]
    public void Run_AdapterWithALatencyTimer_SaysWhatItCosts(string timer, int timeoutMs, FindingState state)
    {
        var device = File.ResolveLinkTarget(_machine.Ports[0].Device, returnFinalTarget: true)!.FullName;
        var folder = Path.Combine(_folder, "sys", "class", "tty", Path.GetFileName(device), "device");
        Directory.CreateDirectory(folder);
        File.WriteAllText(Path.Combine(folder, "latency_timer"), $"{timer}\n");

        var port = new PortDiagnosis(_machine.Ports[0] with { ResponseTimeout = TimeSpan.FromMilliseconds(timeoutMs) }, Places());
        port.Look();

        var finding = Assert.Single(port.Result.Findings, each => each.What.Contains("adapter", StringComparison.Ordinal) && each.What.Contains($"{timer} ms", StringComparison.Ordinal));
        Assert.Equal(state, finding.State);
    }

    [Fact]
    public void Run_GpioInput_TellsLineDirectionHolderAndLevel()
    {
        var chip = _gpio.AddChip("/dev/gpiochip0", "soc", 8);
        chip.Lines[3].Name = "DOOR";
        chip.Lines[3].Wire = true;
        chip.Lines[4].Consumer = "spi0 CS0";

        Assert.Equal(["line 3 \"DOOR\" of /dev/gpiochip0, an input now", "reads 1: closed"], Look("DOOR").Select(finding => finding.What));
        Assert.Contains("in use by \"spi0 CS0\"", Look("4")[^1].What, StringComparison.Ordinal);
        Assert.Contains("no line of chip \"soc\" is named \"DOR\"", Assert.Single(Look("DOR")).What, StringComparison.Ordinal);
        Assert.Contains("there are \"soc\"", Assert.Single(GpioDiagnosis.Look(_gpio, new GpioReference("other", "1"), isOutput: false).Findings).What, StringComparison.Ordinal);
        Assert.Equal(0, _gpio.OpenDescriptors);

        List<Finding> Look(string line) => GpioDiagnosis.Look(_gpio, new GpioReference("soc", line), isOutput: false).Findings;
    }

    [Fact]
    public void Run_GpioLineThatIsAnOutputNow_IsLeftAlone()
    {
        var chip = _gpio.AddChip("/dev/gpiochip0", "soc", 8);
        chip.Lines[5].Direction = true;
        chip.Lines[5].Wire = true;

        Assert.Equal(FindingState.Wrong, GpioDiagnosis.Look(_gpio, new GpioReference("soc", "5"), isOutput: false).Findings[^1].State);
        Assert.Equal(FindingState.Note, GpioDiagnosis.Look(_gpio, new GpioReference("soc", "5"), isOutput: true).Findings[^1].State);
        Assert.Equal((true, true, 0), (chip.Lines[5].Direction, chip.Lines[5].Wire, _gpio.OpenDescriptors));
    }

    [Fact]
    public void ToJson_Findings_AreSortedByWhatWasLookedAt()
    {
        var json = DiagnoseText.ToJson("machine.json", "Tray seeder", Run(_machine));

        Assert.True(json.Good);
        Assert.Equal((2, 4, 1), (json.Ports.Count, json.Drives.Count, json.Modules.Count));
        Assert.Equal("good", json.Drives[0].Findings[0].State);
    }

    private static DiagnosedThing Of(IEnumerable<DiagnosedThing> things, string kind, string name) => things.Single(thing => thing.Kind == kind && thing.Name == name);

    private IReadOnlyList<DiagnosedThing> Run(MachineDefinition machine)
    {
        var things = new Diagnosis(machine, Places()).Run(out var refusal);
        Assert.Equal("", refusal);
        return things;
    }

    private DiagnosisPlaces Places() => new()
    {
        Open = (device, line) => SerialLink.Open(device, line) is var opening && opening.Link is { } link ? LinkOpening.Opened(new RecordedLink(link, _frames)) : opening,
        Gpio = _gpio,
        SystemRoot = Path.Combine(_folder, "sys"),
        Holders = new DeviceHolders(Path.Combine(_folder, "proc")),
        DaemonSocket = () => _daemonSocket,
    };

    /// <summary>Shows a process that has the first port open, as the kernel would.</summary>
    private void Hold(int process, params string[] command)
    {
        var folder = Path.Combine(_folder, "proc", $"{process}");
        Directory.CreateDirectory(Path.Combine(folder, "fd"));
        File.CreateSymbolicLink(Path.Combine(folder, "fd", "5"), File.ResolveLinkTarget(_machine.Ports[0].Device, returnFinalTarget: true)!.FullName);
        File.WriteAllText(Path.Combine(folder, "cmdline"), string.Join('\0', command) + "\0");
    }

    /// <summary>Keeps every frame that is written.</summary>
    private sealed class RecordedLink(ILink link, List<byte[]> frames) : ILink
    {
        public LinkStatus Write(ReadOnlySpan<byte> bytes, TimeSpan deadline)
        {
            frames.Add(bytes.ToArray());
            return link.Write(bytes, deadline);
        }

        public LinkStatus Read(Span<byte> into, TimeSpan deadline, out int count) => link.Read(into, deadline, out count);

        public LinkStatus DiscardInput() => link.DiscardInput();

        public void Dispose() => link.Dispose();
    }
}
