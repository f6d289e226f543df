using Supervisor.Bus.Rtu;

namespace Supervisor.Bus.Tests.Rtu;

/// <summary>Limits of MODBUS Application Protocol V1.1b3, section 6, and the addresses of MODBUS over Serial Line V1.02, 2.2.</summary>
public sealed class TransactionLimitTests
{
    private readonly Transaction _transaction = new();

    [Theory]
    [InlineData(1)]
    [InlineData(125)]
    public void Read_QuantityInRange_MakesAFrame(ushort count)
    {
        _transaction.Read(247, 3, 0, count);

        Assert.Equal(8, _transaction.RequestFrame.Length);
        Assert.Equal(5 + (2 * count), _transaction.Expected.Length);
    }

    [Theory]
    [InlineData(0)]
    [InlineData(126)]
    public void Read_QuantityOutOfRange_Throws(ushort count)
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => _transaction.Read(1, 3, 0, count));
        Assert.Throws<ArgumentOutOfRangeException>(() => _transaction.Read(1, 4, 0, count));
        Assert.Throws<ArgumentOutOfRangeException>(() => _transaction.ReadWrite(1, 0, count, 0, [1]));
    }

    [Theory]
    [InlineData(0)]
    [InlineData(248)]
    [InlineData(255)]
    public void Read_UnitThatNoSlaveHas_Throws(byte unit)
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => _transaction.Read(unit, 3, 0, 1));
        Assert.Throws<ArgumentOutOfRangeException>(() => _transaction.ReadWrite(unit, 0, 1, 0, [1]));
    }

    [Theory]
    [InlineData(248)]
    [InlineData(255)]
    public void Write_ReservedUnit_Throws(byte unit)
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => _transaction.WriteSingle(unit, 0, 1));
        Assert.Throws<ArgumentOutOfRangeException>(() => _transaction.WriteMultiple(unit, 0, [1]));
    }

    [Fact]
    public void Write_UnitZero_IsABroadcast()
    {
        _transaction.WriteSingle(0, 1, 2);
        Assert.True(_transaction.IsBroadcast);

        _transaction.WriteMultiple(0, 1, [2]);
        Assert.True(_transaction.IsBroadcast);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(6)]
    [InlineData(16)]
    public void Read_FunctionThatReadsNoRegisters_Throws(byte function) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => _transaction.Read(1, function, 0, 1));

    [Theory]
    [InlineData(1)]
    [InlineData(123)]
    public void WriteMultiple_QuantityInRange_MakesAFrame(int count)
    {
        _transaction.WriteMultiple(1, 0, new ushort[count]);

        Assert.Equal(9 + (2 * count), _transaction.RequestFrame.Length);
    }

    [Theory]
    [InlineData(0)]
    [InlineData(124)]
    public void WriteMultiple_QuantityOutOfRange_Throws(int count) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => _transaction.WriteMultiple(1, 0, new ushort[count]));

    [Theory]
    [InlineData(1)]
    [InlineData(121)]
    public void ReadWrite_QuantityInRange_FitsAFrame(int count)
    {
        _transaction.ReadWrite(1, 0, 125, 0, new ushort[count]);

        Assert.Equal(13 + (2 * count), _transaction.RequestFrame.Length);
        Assert.True(_transaction.RequestFrame.Length <= Transaction.MaximumFrameBytes);
        Assert.True(_transaction.Expected.Length <= Transaction.MaximumFrameBytes);
    }

    [Theory]
    [InlineData(0)]
    [InlineData(122)]
    public void ReadWrite_QuantityOutOfRange_Throws(int count) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => _transaction.ReadWrite(1, 0, 1, 0, new ushort[count]));

    [Fact]
    public void Range_PastTheLastRegister_Throws()
    {
        _transaction.Read(1, 3, 65535, 1);
        Assert.Throws<ArgumentOutOfRangeException>(() => _transaction.Read(1, 3, 65535, 2));
        Assert.Throws<ArgumentOutOfRangeException>(() => _transaction.WriteMultiple(1, 65534, [1, 2, 3]));
        Assert.Throws<ArgumentOutOfRangeException>(() => _transaction.ReadWrite(1, 0, 1, 65535, [1, 2]));
    }

    [Fact]
    public void ReplyTimeout_Negative_Throws() =>
        Assert.Throws<ArgumentOutOfRangeException>(() => _transaction.ReplyTimeout = TimeSpan.FromTicks(-1));
}
