using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Bench;
using Supervisor.Simulation.Tests.Support;

namespace Supervisor.Simulation.Tests.Bench;

/// <summary>Real pseudo-terminals, the real link, real time: bounded waits, nothing about how long anything took.</summary>
[SupportedOSPlatform("linux")]
public sealed class MachineBenchTests : IDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(20);
    private static readonly IMonotonicClock Clock = MonotonicClock.System;
    private static readonly LineSettings Line = new(115200, LineParity.None, 1, GapRule.Standard, TimeSpan.Zero);

    private readonly string _folder = Directory.CreateTempSubdirectory("bench-").FullName;
    private readonly MachineBench? _bench;

    public MachineBenchTests()
    {
        if (OperatingSystem.IsLinux())
        {
            var machine = new MachineDefinition("Tray seeder", [Definitions.Port], [Definitions.Axis(), Definitions.Axis(Definitions.Bits(), "tray", 1)], [], []);
            _bench = new MachineBench(machine, _folder, Clock);
            _bench.Start();
        }
        else
        {
            Assert.Skip("pseudo-terminals of this kind are Linux's");
        }
    }

    private string Link => Path.Combine(_folder, "line-a");

    public void Dispose()
    {
        _bench?.Dispose();
        Directory.Delete(_folder, recursive: true);
    }

    [Fact]
    public void Exchange_OverThePseudoTerminal_ReadsAndWritesBothDrives()
    {
        using var wire = Open();
        Assert.Equal(0x40, Read(wire, 3, 0) & 0x4F);
        var write = new Transaction();
        write.WriteMultiple(3, 66, [0x0001, 0x0203]);
        Assert.Equal(TransactionResult.Reply, Run(wire, write));
        Assert.Equal(0x0203, Read(wire, 3, 67));
        Assert.Equal(0, Read(wire, 1, 200));
        var foreign = new Transaction();
        foreign.Read(9, 3, 0, 1);
        Assert.Equal(TransactionResult.TimedOut, Run(wire, foreign));
    }

    /// <summary>The valve is bit 1 of register 75.</summary>
    [Fact]
    public void Outputs_ByCommand_AreAsTheDriveWasTold()
    {
        using var wire = Open();
        Assert.Equal("ok outputs dibber.valve=0", Tell("outputs"));
        var write = new Transaction();
        write.WriteMultiple(3, 75, [2]);
        Assert.Equal(TransactionResult.Reply, Run(wire, write));
        Assert.Equal("ok outputs dibber.valve=1", Tell("outputs"));
    }

    [Fact]
    public void Input_ByCommand_IsSeenInTheRegister()
    {
        using var wire = Open();
        Assert.Equal(0, Read(wire, 3, 7));
        Assert.Equal("ok input dibber.input1 1", Tell("input  dibber.input1 1"));
        Assert.Equal(1, Read(wire, 3, 7));
        Assert.Equal("ok fault dibber 0x2310", Tell("fault dibber 0x2310"));
        Assert.True(Within(() => Read(wire, 3, 6) == 0x2310));
        Assert.StartsWith("error: unknown axis", Tell("jam dipper"), StringComparison.Ordinal);
    }

    [Fact]
    public void Unplug_WhileOpen_HangsUpAndPlugComesBack()
    {
        using (var wire = Open())
        {
            Read(wire, 3, 0);
            Assert.Equal("ok unplug line-a", Tell("unplug line-a"));
            Assert.False(File.Exists(Link), "the link is still there");
            var gone = new Transaction();
            gone.Read(3, 3, 0, 1);
            Assert.True(Within(() => Run(wire, gone) == TransactionResult.LinkGone), $"{gone.Result}");
            Assert.Null(SerialLink.Open(Link, Line).Link);
            Assert.StartsWith("error: port 'line-a' is unplugged already", Tell("unplug line-a"), StringComparison.Ordinal);
        }

        Assert.Equal("ok plug line-a", Tell("plug line-a"));
        using var again = Open();
        Assert.Equal(0x40, Read(again, 3, 0) & 0x4F);
    }

    [Fact]
    public void Reopen_AfterTheProgramWentAway_IsServedAgain()
    {
        for (int i = 0; i < 3; i++)
        {
            using var wire = Open();
            Assert.Equal(0x40, Read(wire, 3, 0) & 0x4F);
        }
    }

    [Fact]
    public void Restart_ByCommand_IsSilentThenNew()
    {
        using var wire = Open();
        var write = new Transaction();
        write.WriteMultiple(3, 67, [77]);
        Assert.Equal(TransactionResult.Reply, Run(wire, write));
        Assert.Equal("ok restart dibber", Tell("restart dibber"));
        var ask = new Transaction();
        ask.Read(3, 3, 67, 1);
        Assert.True(Within(() => Run(wire, ask) == TransactionResult.Reply));
        Assert.Equal(0, ask.ReplyRegister(0));
    }

    [Fact]
    public void Run_LinesAndEnd_AnswersEachAndRemovesLinks()
    {
        _bench!.Dispose();
        var machine = new MachineDefinition("Tray seeder", [Definitions.Port], [Definitions.Axis()], [], []);
        using var bench = new MachineBench(machine, _folder, Clock);
        var output = new StringWriter();
        bench.Run(new StringReader("jam dibber\n\nbreak dibber\nquit\njam dibber\n"), output);
        string[] lines = output.ToString().Split('\n', StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal(4, lines.Length);
        Assert.Equal($"ready line-a={Link}", lines[0]);
        Assert.Equal("ok jam dibber", lines[1]);
        Assert.StartsWith("error: unknown command 'break'", lines[2], StringComparison.Ordinal);
        Assert.Equal("ok quit", lines[3]);
        Assert.Null(new FileInfo(Link).LinkTarget);
    }

    [Fact]
    public void Start_FileInTheWay_IsRefusedWithItsPath()
    {
        _bench!.Dispose();
        File.WriteAllText(Link, "mine");
        var machine = new MachineDefinition("Tray seeder", [Definitions.Port], [Definitions.Axis()], [], []);
        var bench = new MachineBench(machine, _folder, Clock);
        var thrown = Assert.Throws<IOException>(bench.Start);
        Assert.Contains(Link, thrown.Message, StringComparison.Ordinal);
        Assert.Equal("mine", File.ReadAllText(Link));
        File.Delete(Link);
    }

    private string Tell(string line) => _bench!.Execute(line, out _);

    private ILink Open()
    {
        var opening = SerialLink.Open(Link, Line);
        return opening.Link ?? throw new InvalidOperationException(opening.Reason);
    }

    private static TransactionResult Run(ILink wire, Transaction transaction)
    {
        transaction.ReplyTimeout = TimeSpan.FromMilliseconds(200);
        return new RtuMasterDriver(new RtuMaster(Line), wire, Clock).Run(transaction);
    }

    private static int Read(ILink wire, byte unit, int register)
    {
        var ask = new Transaction();
        ask.Read(unit, 3, (ushort)register, 1);
        Assert.True(Within(() => Run(wire, ask) == TransactionResult.Reply), $"{ask.Result} {ask.ExceptionCode}");
        return ask.ReplyRegister(0);
    }

    private static bool Within(Func<bool> holds)
    {
        var end = Clock.Now + Patience;
        while (!holds())
        {
            if (Clock.Now > end)
            {
                return false;
            }

            Clock.WaitUntil(Clock.Now + TimeSpan.FromMilliseconds(5));
        }

        return true;
    }
}
