namespace Supervisor.Bus.Rtu;

/// <summary>Function codes this program speaks (Modbus Application Protocol V1.1b3, section 6).</summary>
public static class FunctionCode
{
    public const byte ReadCoils = 1;
    public const byte ReadDiscreteInputs = 2;
    public const byte ReadHoldingRegisters = 3;
    public const byte ReadInputRegisters = 4;
    public const byte WriteSingleCoil = 5;
    public const byte WriteSingleRegister = 6;
    public const byte Diagnostics = 8;
    public const byte WriteMultipleCoils = 15;
    public const byte WriteMultipleRegisters = 16;
    public const byte MaskWriteRegister = 22;
    public const byte ReadWriteMultipleRegisters = 23;

    /// <summary>Carries other interfaces; of them only the reading of a device's identification is spoken here.</summary>
    public const byte EncapsulatedInterface = 43;

    /// <summary>Set in the function code of an exception reply.</summary>
    public const byte ExceptionBit = 0x80;
}

/// <summary>Exception codes (Modbus Application Protocol V1.1b3, section 7).</summary>
public static class ExceptionCode
{
    public const byte IllegalFunction = 1;
    public const byte IllegalDataAddress = 2;
    public const byte IllegalDataValue = 3;
    public const byte DeviceFailure = 4;
    public const byte Acknowledge = 5;
    public const byte DeviceBusy = 6;
}

/// <summary>Addresses (Modbus over Serial Line V1.02, 2.2) and quantities (Modbus Application Protocol V1.1b3, section 6).</summary>
public static class ModbusLimits
{
    /// <summary>Address all slaves take; only for writes, and nobody answers.</summary>
    public const byte BroadcastUnit = 0;

    /// <summary>Lowest address of a slave.</summary>
    public const byte FirstUnit = 1;

    /// <summary>Highest address of a slave; 248 to 255 are reserved.</summary>
    public const byte LastUnit = 247;

    /// <summary>Registers of one read (functions 3, 4 and 23).</summary>
    public const int MaximumRead = 125;

    /// <summary>Registers of one write (function 16).</summary>
    public const int MaximumWrite = 123;

    /// <summary>Registers written by one read-write (function 23).</summary>
    public const int MaximumReadWriteWrite = 121;

    /// <summary>Bits of one read (functions 1 and 2).</summary>
    public const int MaximumReadBits = 2000;

    /// <summary>Coils of one write (function 15).</summary>
    public const int MaximumWriteCoils = 1968;

    /// <summary>Value of function 5 that switches a coil on; 0 switches it off, nothing else is allowed (6.5).</summary>
    public const ushort CoilOn = 0xFF00;

    /// <summary>Registers, coils or discrete inputs there are behind one address.</summary>
    public const int RegisterSpace = 65536;
}
