using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Daemon.Verbs.Lines;

namespace Supervisor.Daemon.Tests.Verbs.Lines;

/// <summary>Scans in simulated time.</summary>
public sealed class ScanTests : IDisposable
{
    private static readonly LineSettings Right = Line(19200, LineParity.Even);
    private readonly string _folder = Directory.CreateTempSubdirectory("scan-").FullName;
    private readonly StandInWire _wire = new(Right);
    private readonly StandInDevice _plain = new(hasRegister: true, null);
    private readonly StandInDevice _identified = new(hasRegister: false, new DeviceIdentity("Maker", "TS-4", "1.2"));

    public ScanTests()
    {
        _wire.Slave.Serve(3, _plain);
        _wire.Slave.Serve(247, _identified);
    }

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Run_TwoDevices_FindsThemAtTheirSettingsAndWhatTheyTell()
    {
        var scan = Run(Plan(Line(9600, LineParity.Even), Right, Line(115200, LineParity.None)));

        Assert.Equal(2, scan.Lines.Count);
        Assert.Empty(scan.Lines[0].Found);
        Assert.Equal((247, Right), (scan.Lines[1].Tried, scan.Lines[1].Line));
        Assert.Equal([(3, ScanAnswer.Answers, 0), (247, ScanAnswer.Answers, 2)], scan.Lines[1].Found.Select(found => ((int)found.Address, found.Answer, (int)found.ExceptionCode)));
        Assert.Null(scan.Lines[1].Found[0].Identity);
        Assert.Equal("vendor Maker, product TS-4, revision 1.2", ScanText.Of(scan.Lines[1].Found[1].Identity!));
    }

    [Fact]
    public void Run_Whole_OnlyReads()
    {
        _ = Run(Plan(Right));

        // Functions 3 and 43/14 read (MODBUS Application Protocol V1.1b3, 6.3 and 6.21).
        Assert.All(_wire.Frames, frame => Assert.True(frame[1] == 3 || (frame[1] == 43 && frame[2] == 14)));
        Assert.Equal(0, _plain.Writes + _identified.Writes);
        Assert.DoesNotContain(_wire.Frames, frame => frame[0] is 0 or > 247);
    }

    [Fact]
    public void Run_All_TriesOtherSettingsTooThoughSomebodyAnswered()
    {
        var scan = Run(Plan(Right, Line(9600, LineParity.None)) with { All = true });

        Assert.Equal([2, 0], scan.Lines.Select(line => line.Found.Count));
    }

    [Fact]
    public void Run_TwoDevicesOfOneAddress_AreGarbled()
    {
        var turn = 0;
        _wire.Spoil = (request, answer) => request[0] == 3 ? [.. answer.Select(each => (byte)(each ^ (1 << (turn++ % 8))))] : answer;

        var scan = Run(Plan(Right));

        Assert.Equal([(3, ScanAnswer.Garbled), (247, ScanAnswer.Answers)], scan.Lines[0].Found.Select(found => ((int)found.Address, found.Answer)));
        using var text = new StringWriter();
        ScanText.Print(scan.Lines[0], text);
        Assert.Contains("something answers, garbled: two drives with one address, or wrong line settings", text.ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public void Run_OneDamagedAnswer_IsAskedAgainAndTold()
    {
        var isFirst = true;
        _wire.Spoil = (_, answer) =>
        {
            answer[^1] ^= (byte)(isFirst ? 1 : 0);
            isFirst = false;
            return answer;
        };

        var found = Run(Plan(Right)).Lines[0].Found[0];

        Assert.Equal((ScanAnswer.Answers, 1), (found.Answer, found.Garbled));
    }

    [Fact]
    public void Run_AdapterThatHearsItself_IsToldAndFindsNobodyInItsEcho()
    {
        _wire.HearsItself = true;

        var scan = Run(Plan(Right));

        Assert.True(scan.Lines[0].HearsItself);
        Assert.Empty(scan.Lines[0].Found);
        Assert.Contains("echo switch", ScanText.WhatNext(Plan(Right), scan, isInterrupted: false), StringComparison.Ordinal);
        Assert.Contains("rs485", ScanText.WhatNext(Plan(Right), scan, isInterrupted: false), StringComparison.Ordinal);
    }

    [Fact]
    public void Longest_SilentLine_IsTheTimeItTakes()
    {
        foreach (var tries in (int[])[1, 3])
        {
            var wire = new StandInWire(Right);
            var plan = Plan(Line(9600, LineParity.None), Line(115200, LineParity.Even)) with { Tries = tries };
            var begun = wire.Now;

            new Scan(plan, wire.Places()).Run(CancellationToken.None);

            Assert.Equal(2 * 247 * tries, wire.Frames.Count);
            Assert.InRange((wire.Now - begun) / plan.Longest, 0.99, 1.01);
        }
    }

    [Fact]
    public void Run_Interrupted_EndsAndKeepsWhatItFound()
    {
        using var interrupt = new CancellationTokenSource();
        _wire.Asked = request =>
        {
            if (request[0] == 10)
            {
                interrupt.Cancel();
            }
        };
        var scan = new Scan(Plan(Right), _wire.Places());

        scan.Run(interrupt.Token);

        Assert.Equal(10, scan.Lines[0].Tried);
        Assert.Equal(3, Assert.Single(scan.Lines[0].Found).Address);
    }

    [Fact]
    public void Run_InterruptedWhileItAsksWhatTheyAre_AsksNoMore()
    {
        using var interrupt = new CancellationTokenSource();
        _wire.Asked = request =>
        {
            if (request[1] == FunctionCode.EncapsulatedInterface)
            {
                interrupt.Cancel();
            }
        };
        var scan = new Scan(Plan(Right), _wire.Places());

        scan.Run(interrupt.Token);

        Assert.Equal([3, 247], scan.Lines[0].Found.Select(found => (int)found.Address));
        Assert.Single(_wire.Frames, frame => frame[1] == FunctionCode.EncapsulatedInterface);
    }

    [Fact]
    public void Run_SettingsTheAdapterDoesNotTake_AreToldAndTheOthersTried()
    {
        _wire.RefusedBauds.Add(9600);

        var scan = Run(Plan(Line(9600, LineParity.Even), Right));

        Assert.Contains("does not take 9600 baud", scan.Lines[0].Problem, StringComparison.Ordinal);
        Assert.Equal(2, scan.Lines[1].Found.Count);
    }

    [Theory]
    [InlineData("axis-supervisor\0serve", "the daemon (process 4711) holds")]
    [InlineData("picocom\0/dev/ttyUSB9", "held by process 4711 (picocom /dev/ttyUSB9)")]
    public void Run_PortThatSomebodyHolds_IsRefusedAndNotTouched(string command, string said)
    {
        var device = Path.Combine(_folder, "tty");
        File.WriteAllText(device, "");
        var process = Directory.CreateDirectory(Path.Combine(_folder, "proc", "4711", "fd"));
        File.CreateSymbolicLink(Path.Combine(process.FullName, "5"), device);
        File.WriteAllText(Path.Combine(_folder, "proc", "4711", "cmdline"), command);
        var scan = new Scan(Plan(Right) with { Device = device }, _wire.Places(Path.Combine(_folder, "proc")));

        scan.Run(CancellationToken.None);

        Assert.Contains(said, scan.Refusal, StringComparison.Ordinal);
        Assert.Equal(0, _wire.Openings);
    }

    private static LineSettings Line(int baud, LineParity parity) => new(baud, parity, 1, GapRule.Standard, TimeSpan.Zero);

    private static ScanPlan Plan(params LineSettings[] lines) => new("/dev/stand-in", lines, 1, 247, TimeSpan.FromMilliseconds(50), 1, false);

    private Scan Run(ScanPlan plan)
    {
        var scan = new Scan(plan, _wire.Places());
        scan.Run(CancellationToken.None);
        Assert.Empty(scan.Refusal);
        return scan;
    }
}
