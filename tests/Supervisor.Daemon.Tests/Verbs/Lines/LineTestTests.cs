using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Daemon.Verbs.Lines;

namespace Supervisor.Daemon.Tests.Verbs.Lines;

/// <summary>Line tests in simulated time.</summary>
public sealed class LineTestTests
{
    private static readonly LineSettings Line = new(115200, LineParity.None, 1, GapRule.Standard, TimeSpan.Zero);
    private readonly StandInWire _wire = new(Line);
    private readonly StandInDevice _device = new(hasRegister: true, null);

    public LineTestTests() => _wire.Slave.Serve(7, _device);

    [Fact]
    public void Run_GoodLine_EchoesAllAndWritesNothing()
    {
        var test = Run(1000);

        Assert.Equal((LineTestWay.Echo, 1000, 1000, 0), (test.Way, test.Counts.Exchanges, test.Counts.Good, test.Counts.Spoilt));
        Assert.True(LineTestText.IsGood(test));
        // 8 characters each way, and the turnaround of the stand-in.
        Assert.Equal(16, test.Counts.Characters);
        Assert.Equal(Line.CharacterTime(8) + _wire.Turnaround, test.Counts.Time(0.5));
        // Function 3 reads, 8 with sub-function 0 echoes (MODBUS Application Protocol V1.1b3, 6.3 and 6.8).
        Assert.All(_wire.Frames, frame => Assert.True(frame[1] == 3 || (frame[1] == 8 && frame[2] == 0 && frame[3] == 0)));
        Assert.Equal(0, _device.Writes);
        Assert.True(_wire.Frames.Where(frame => frame[1] == 8).Select(frame => (frame[4] << 8) | frame[5]).Distinct().Count() > 400, "Few patterns were sent.");
        Assert.Superset(new HashSet<int> { 0x0000, 0xFFFF, 0x5555, 0xAAAA }, _wire.Frames.Where(frame => frame[1] == 8).Select(frame => (frame[4] << 8) | frame[5]).ToHashSet());
    }

    [Fact]
    public void Run_EachKindOfTrouble_IsCountedAsItself()
    {
        var echoes = 0;
        _wire.Spoil = (request, answer) =>
        {
            if (request[1] != 8 || ++echoes == 1)
            {
                return answer;
            }

            switch (echoes % 100)
            {
                case 10:
                    return [];
                case 20 or 21:
                    answer[4] ^= 0x10;
                    return answer;
                case 30:
                    return answer[..5];
                case 40:
                    answer[5] ^= 1;
                    Crc16.Append(answer, 6);
                    return answer;
                default:
                    return answer;
            }
        };

        var test = Run(1000);

        Assert.Equal((1000, 10, 20, 10, 10, 0), (test.Counts.Exchanges, test.Counts.Lost, test.Counts.BadCrc, test.Counts.Broken, test.Counts.WrongEcho, test.Counts.Late));
        Assert.Equal(950, test.Counts.Good);
        Assert.False(LineTestText.IsGood(test));
        Assert.Equal(50, test.SpoiltPatterns.Values.Sum());
        var json = LineTestText.ToJson(Plan(1000), test, isInterrupted: false);
        Assert.StartsWith("bad: 5 % fail", json.Verdict, StringComparison.Ordinal);
        Assert.Equal(3, json.WhatToDo.Count);
    }

    [Fact]
    public void Run_SlowDevice_IsLateAndNotLost()
    {
        var echoes = 0;
        _wire.Spoil = (request, answer) =>
        {
            _wire.Turnaround = TimeSpan.FromMilliseconds(++echoes % 10 == 0 ? 60 : 2);
            return answer;
        };

        var test = Run(500);

        Assert.Equal(0, test.Counts.Spoilt);
        Assert.InRange(test.Counts.Late, 49, 51);
        Assert.Contains("latency timer", Assert.Single(LineTestText.ToJson(Plan(500), test, false).WhatToDo), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(true, 0)]
    [InlineData(false, 2)]
    public void Run_DeviceWithoutFunction8_IsToldAndReadInstead(bool hasRegister, byte exception)
    {
        var wire = new StandInWire(Line);
        wire.Slave.Serve(7, new StandInDevice(hasRegister, null));
        wire.Spoil = (request, answer) => request[1] == 8 ? Refusal(7, 8, 1) : answer;

        var test = new LineTest(Plan(300), wire.Places());
        test.Run(CancellationToken.None);

        Assert.Equal((LineTestWay.Read, 300, exception), (test.Way, test.Counts.Good, test.ReadException));
        Assert.Equal("it refuses function 8 (exception 1)", test.WhyNoEcho);
        Assert.True(LineTestText.IsGood(test));
    }

    [Fact]
    public void Run_AdapterThatHearsItself_IsRefusedRatherThanMeasured()
    {
        _wire.HearsItself = true;

        var test = Run(100);

        Assert.Equal(0, test.Counts.Exchanges);
        Assert.Contains("hears its own requests", test.Refusal, StringComparison.Ordinal);
        Assert.Contains("echo switch", test.Refusal, StringComparison.Ordinal);
        Assert.Contains("rs485", test.Refusal, StringComparison.Ordinal);
    }

    [Fact]
    public void Run_AddressWhereNobodyIs_SaysSo()
    {
        var test = new LineTest(Plan(100) with { Address = 8 }, _wire.Places());
        test.Run(CancellationToken.None);

        Assert.Contains("nobody answers at address 8", test.Refusal, StringComparison.Ordinal);
    }

    [Fact]
    public void Run_DeviceThatFallsSilent_EndsByItself()
    {
        var echoes = 0;
        _wire.Spoil = (_, answer) => ++echoes > 100 ? [] : answer;

        var test = Run(100_000);

        Assert.InRange(test.Counts.Exchanges, 140, 160);
        Assert.Contains("in a row failed", test.Refusal, StringComparison.Ordinal);
    }

    private static byte[] Refusal(byte unit, byte function, byte exception)
    {
        var frame = new byte[5];
        (frame[0], frame[1], frame[2]) = (unit, (byte)(function | 0x80), exception);
        Crc16.Append(frame, 3);
        return frame;
    }

    private static LineTestPlan Plan(int count) => new("/dev/stand-in", Line, 7, count, TimeSpan.FromMilliseconds(20), 3, 0, 1);

    private LineTest Run(int count)
    {
        var test = new LineTest(Plan(count), _wire.Places());
        test.Run(CancellationToken.None);
        return test;
    }
}
