using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;

namespace Supervisor.Bus.Tests.Noise;

/// <summary>A master and a slave on a noisy wire, random reads and writes, and what became of them. The slave's registers are the truth.</summary>
internal sealed class NoiseBench
{
    private const byte Unit = 17;
    private const int Registers = 8;
    private const int Commands = 64;

    private readonly Random _random;
    private readonly CountingMap _map = new();
    private readonly RtuMasterDriver _driver;
    private readonly Transaction _transaction = new() { ReplyTimeout = TimeSpan.FromMilliseconds(5) };
    private readonly byte[] _given = new byte[Transaction.MaximumFrameBytes];
    private readonly Dictionary<(int Bytes, int Head), double> _chances = [];
    private readonly double _rate;
    private int _givenLength;

    public NoiseBench(LineSettings line, double rate, int seed)
    {
        (_random, _rate) = (new Random(seed), rate);
        Errors = new BitErrors(_random) { Rate = rate };
        var slave = new RtuSlave();
        slave.Serve(Unit, _map);
        Wire = new NoisyWire(line, slave, Errors) { Answered = Keep, Taken = TakeRequest };
        _driver = new RtuMasterDriver(new RtuMaster(line), Wire, Wire);
    }

    public BitErrors Errors { get; }

    public NoisyWire Wire { get; }

    public TransactionResult Last => _transaction.Result;

    public int Good { get; private set; }

    public int Bad { get; private set; }

    /// <summary>Frames that one side took and the other never gave, though their CRC does not fit.</summary>
    public int WrongThoughCaught { get; private set; }

    /// <summary>Damaged frames that one side took, as their CRC fits by chance.</summary>
    public int PassedCrc { get; private set; }

    /// <summary>How many of these theory expects.</summary>
    public double ExpectedToPass { get; private set; }

    /// <summary>Exchanges in which the slave wrote more than once.</summary>
    public int DoneTwice { get; private set; }

    /// <summary>Writes that were acknowledged and not done.</summary>
    public int AcknowledgedNotDone { get; private set; }

    /// <summary>Most calls of the link in one exchange.</summary>
    public long MostCalls { get; private set; }

    public TransactionResult Exchange()
    {
        var isWrite = Fill();
        var writesBefore = _map.Writes;
        _givenLength = 0;
        var calls = Wire.Calls;
        var result = _driver.Run(_transaction);
        MostCalls = Math.Max(MostCalls, Wire.Calls - calls);
        Good += result == TransactionResult.Reply ? 1 : 0;
        Bad += result == TransactionResult.Reply ? 0 : 1;
        DoneTwice += _map.Writes - writesBefore > 1 ? 1 : 0;
        if (result is TransactionResult.Reply or TransactionResult.ExceptionReply)
        {
            Judge(isWrite, writesBefore);
        }

        // A request is taken whatever in it is damaged; of an answer unit, function and byte count must arrive as they are.
        ExpectedToPass += Errors.Rate > 0 ? Chance(_transaction.RequestFrame.Length, 0) + Chance(_transaction.Expected.Length, 3) : 0;
        return result;
    }

    private bool Fill()
    {
        var start = (ushort)_random.Next(Commands - Registers);
        switch (_random.Next(4))
        {
            case 0:
                _transaction.WriteSingle(Unit, start, (ushort)_random.Next(65536));
                return true;
            case 1:
                _transaction.WriteMultiple(Unit, start, Values());
                return true;
            case 2:
                _transaction.ReadWrite(Unit, start, Registers, start, Values());
                return true;
            default:
                _map.Stir(_random);
                _transaction.Read(Unit, FunctionCode.ReadHoldingRegisters, start, Registers);
                return false;
        }
    }

    private ushort[] Values() => [.. Enumerable.Range(0, 4).Select(_ => (ushort)_random.Next(65536))];

    private void Keep(ReadOnlyMemory<byte> answer)
    {
        answer.Span.CopyTo(_given);
        _givenLength = answer.Length;
    }

    private void TakeRequest(ReadOnlyMemory<byte> taken)
    {
        if (!taken.Span.SequenceEqual(_transaction.RequestFrame))
        {
            Pass(taken.Span);
        }
    }

    private void Pass(ReadOnlySpan<byte> taken)
    {
        var fits = SlowCrc.Fits(taken);
        PassedCrc += fits ? 1 : 0;
        WrongThoughCaught += fits ? 0 : 1;
    }

    private void Judge(bool isWrite, int writesBefore)
    {
        var taken = _transaction.ReplyFrame;
        if (taken.SequenceEqual(_given.AsSpan(0, _givenLength)))
        {
            AcknowledgedNotDone += isWrite && Last == TransactionResult.Reply && _map.Writes == writesBefore ? 1 : 0;
            return;
        }

        Pass(taken);
    }

    private double Chance(int bytes, int head)
    {
        if (!_chances.TryGetValue((bytes, head), out var chance))
        {
            chance = _chances[(bytes, head)] = CrcTheory.Undetected(bytes, head, _rate);
        }

        return chance;
    }

    private sealed class CountingMap : IRegisterMap
    {
        private readonly ushort[] _values = new ushort[Commands];

        public int Writes { get; private set; }

        public void Stir(Random random)
        {
            for (var i = 0; i < _values.Length; i++)
            {
                _values[i] = (ushort)random.Next(65536);
            }
        }

        public byte Read(ushort start, Span<ushort> values)
        {
            if (start + values.Length > Commands)
            {
                return ExceptionCode.IllegalDataAddress;
            }

            _values.AsSpan(start, values.Length).CopyTo(values);
            return 0;
        }

        public byte Write(ushort start, ReadOnlySpan<ushort> values)
        {
            if (start + values.Length > Commands)
            {
                return ExceptionCode.IllegalDataAddress;
            }

            values.CopyTo(_values.AsSpan(start));
            Writes++;
            return 0;
        }
    }
}
